package stability

import (
	"context"
	"math"

	"setwright/quantity"
)

// Fitter fits a smooth curve to the readings f (Hz) at times t (s since
// power-on), jumps taken out; an error says why there is none.
type Fitter func(ctx context.Context, t, f []float64) (Trend, error)

// Options of [Analyse]. The zero value is the rule of the drift measurement.
type Options struct {
	HorizonS  float64   // s since power-on; 0: the end of the record
	BandsHz   []float64 // nil: 500, 100, 20 Hz
	NominalHz float64   // divides for fractional figures; 0: the mean of the record
	BeatNote  bool      // the record is a beat note: without a nominal it has no fractional frequency
	Fit       Fitter    // nil: no fit
	Draws     int       // realisations of the noise; 0: 400, fewer for very long records
	Seed      uint64    // of the draws
}

// Analysis is what a record gives, but for its fit and its Allan figures.
type Analysis struct {
	Warnings []Warning
	HorizonS float64

	ResolutionHz float64 // of the readings: the record's own, or the coarser one that they show

	Slips   []Slip
	Gaps    []int // record indices of the first readings after a gap
	Jumps   []Jump
	Trend   Trend // nil where none could be fitted
	NoTrend error // why
	Rounds  int   // of fitting and looking for jumps

	// The readings used: slips and what lies past the horizon are left out.
	TimeS       []float64
	FrequencyHz []float64
	LevelledHz  []float64 // the same with jumps taken out, at the level of the last reading
	Smoothed    Smoothed
	Breaks      []int // positions in TimeS after a gap or a jump

	NoiseHz  float64 // standard deviation of a reading about the smooth course
	NoiseDoF float64
	Noise    Noise // the model that uncertainties are drawn from

	Closing   Result
	Excursion Result
	Settling  []Settling // in the order of the bands
	Usable    []Usable
	Wander    Wandering
	Tempco    TemperatureCoefficient

	used    recSeries
	ambient *ambientPlan // nil where ambient was not made to change after settling
}

// bands are the half-widths of settling.
func (o Options) bands() []float64 {
	if o.BandsHz == nil {
		return []float64{500, 100, 20}
	}
	return o.BandsHz
}

// Analyse takes a record apart: slips are set aside, then jumps and the smooth
// curve are found in turn until both stay the same; the record is smoothed
// within a tenth of the curve's shortest time constant; the figures are read
// off, with uncertainties from seeded realisations of the record's own noise
// (JCGM 101) laid on the curve. The same record gives the same digits.
//
// Errors are those of [Record.Check] and of ctx.
func Analyse(ctx context.Context, r Record, o Options) (*Analysis, error) {
	warnings, err := r.Check()
	if err != nil {
		return nil, err
	}
	a := &Analysis{Warnings: warnings}
	s := recSeriesOf(r, math.Inf(1))
	a.HorizonS = s.t[len(s.t)-1]
	if o.HorizonS > 0 && o.HorizonS < a.HorizonS {
		a.HorizonS = o.HorizonS
		s = s.until(o.HorizonS)
	}
	if len(s.t) < 2 {
		return nil, &TooFewReadingsError{Found: len(s.t), Need: 2}
	}
	r.ResolutionHz = recCoarsest(s.f, r.ResolutionHz)
	a.Slips = slipsOf(s, r.ResolutionHz)
	if kept := s.without(a.Slips); len(kept.t) >= 2 {
		s = kept
	}
	r.ResolutionHz = recCoarsest(s.f, r.ResolutionHz) // a digit out may have hidden it
	a.ResolutionHz = r.ResolutionHz
	a.TimeS, a.FrequencyHz, a.used = s.t, s.f, s
	a.planAmbient(r, o)
	if err := a.takeApart(ctx, s, r.ResolutionHz, o.Fit); err != nil {
		return nil, err
	}
	return a, a.figures(ctx, r, o)
}

// planAmbient looks whether ambient was made to change after settling, and then
// for what that makes of the readings: a sudden change of room is no jump.
func (a *Analysis) planAmbient(r Record, o Options) {
	if len(r.AmbientC) == 0 || o.BeatNote && o.NominalHz == 0 {
		return
	}
	s := a.used
	a.ambient = ambientPlanOf(s, s.of(r.AmbientC), Gaps(s.t), o.bands())
	if a.ambient != nil {
		a.ambient.fit(s.t, s.f, o.NominalHz)
	}
}

// shortest is the trend's shortest time constant, 0 for none.
func (a *Analysis) shortest() float64 {
	if a.Trend == nil {
		return 0
	}
	if tau := a.Trend.ShortestTimeConstant(); tau > 0 && !math.IsInf(tau, 1) {
		return tau
	}
	return 0
}

// figures reads the figures off and finds their uncertainties.
func (a *Analysis) figures(ctx context.Context, r Record, o Options) error {
	s, bands := a.used, o.bands()
	noise, sigma := a.noise(r.ResolutionHz)
	a.NoiseHz, a.NoiseDoF, a.Noise = sigma, noise.heaviest().DoF, noise
	c := ClosingFrequency(s.t, s.f, a.HorizonS)
	a.Closing = setValue(c)
	slope, u := closingSlope(s.t, a.LevelledHz, sigma)
	ahead := setAheadOf(a.Trend, a.HorizonS, slope, u)
	moves := setMovement(s.t, a.Smoothed.FrequencyHz, movingWindowS)
	for _, band := range bands {
		a.Settling = append(a.Settling, setSettling(a.Smoothed, a.Breaks, c, band, a.HorizonS, ahead, a.Trend))
		a.Usable = append(a.Usable, setUsable(a.Smoothed, a.Breaks, moves, band))
	}
	a.smoothedUncertainty(noise)
	if a.Excursion = Excursion(a.Smoothed); a.Excursion.Kind == quantity.KindValue {
		a.Excursion.U = 0 // the draws say it
	}
	from, band, ok := setSmallestReached(a.Settling)
	a.Wander = Wandering{Result: setAbsent(ReasonNoBandReached)}
	a.Tempco = a.tempco(r, from, band, ok, o)
	if ok {
		a.Wander = Wander(s.t, s.f, from)
		a.Wander.BandHz = band
	}
	return a.uncertainties(ctx, noise, bands, o)
}

// tempco gives the temperature coefficient: from the settled part before a change
// of ambient on, or, with no such change, from where the whole record is settled.
func (a *Analysis) tempco(r Record, from, band float64, settled bool, o Options) TemperatureCoefficient {
	switch {
	case len(r.AmbientC) == 0:
		return TemperatureCoefficient{Result: setAbsent(ReasonNoAmbient)}
	case o.BeatNote && o.NominalHz == 0:
		return TemperatureCoefficient{Result: setAbsent(ReasonNoNominal)}
	case a.ambient != nil:
		return a.ambient.fit(a.TimeS, a.LevelledHz, o.NominalHz)
	case !settled:
		return TemperatureCoefficient{Result: setAbsent(ReasonNoBandReached)}
	}
	out := Tempco(a.TimeS, a.LevelledHz, a.used.of(r.AmbientC), from, o.NominalHz)
	out.FromS, out.BandHz = from, band
	return out
}
