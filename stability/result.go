package stability

import (
	"math"

	"setwright/quantity"
)

// Result is one figure of a record. Kind says in which form it is known: a
// value with U, an interval from Lo to Hi, or a bound; it is empty where the
// figure can't be given, and Reason says why. Reason is also given with a bound.
type Result struct {
	Kind   quantity.Kind
	Value  float64 // the value, or the limit of a bound
	U      float64 // standard uncertainty from the record's own noise and resolution
	DoF    float64 // degrees of freedom of U; 0 where nothing is known of it
	Lo, Hi float64 // ends of an interval
	Bound  string  // quantity.MoreThan for a bound
	Reason Reason

	// CI holds the limits of a 95 % interval where U alone would mislead: last
	// exits and extremes are pushed one way by noise. nil where U says it all.
	CI *[2]float64

	// PerPowerOn is how much Value (or both ends) moves for each second by which
	// the time from power-on to the first reading is longer. With the standard
	// uncertainty of that time it gives one more source of uncertainty.
	PerPowerOn float64
}

// Level is the coverage of [Result.CI].
const Level = 0.95

// Reason says why a figure is a bound or absent.
type Reason string

// The reasons.
const (
	ReasonFirstReadingLate Reason = "the first reading is later than 120 s after power-on"
	ReasonStillMoving      Reason = "still on its way: the travel predicted for the next hour leaves the band"
	ReasonEndsTooSoon      Reason = "the record ends too soon after the last exit from the band"
	ReasonOutsideAtEnd     Reason = "outside the band at the end of the record"
	ReasonUsableTooLate    Reason = "less than 20 min of record after it"
	ReasonRecordTooShort   Reason = "the record is too short"
	ReasonTooSparse        Reason = "the readings are too few to show any movement within 10 min"
	ReasonGlances          Reason = "the readings lie further apart than 2.5 min: what happens between them is not seen"
	ReasonNoBandReached    Reason = "the record doesn't settle to any of the bands"
	ReasonNoAmbient        Reason = "no ambient temperatures in the record"
	ReasonAmbientSteady    Reason = "ambient changed by less than 3 K after settling"
	ReasonNoNominal        Reason = "a beat note without a nominal frequency has no fractional frequency"
	ReasonNotSeparable     Reason = "ambient changed too much like time itself to tell its effect from drift"
)

// Given says whether the figure is known in any form.
func (r Result) Given() bool { return r.Kind != "" }

func setValue(v float64) Result         { return Result{Kind: quantity.KindValue, Value: v} }
func setInterval(lo, hi float64) Result { return Result{Kind: quantity.KindInterval, Lo: lo, Hi: hi} }
func setAbsent(why Reason) Result       { return Result{Reason: why, Value: math.NaN()} }
func setMoreThan(v float64, why Reason) Result {
	return Result{Kind: quantity.KindBound, Bound: quantity.MoreThan, Value: v, Reason: why}
}
