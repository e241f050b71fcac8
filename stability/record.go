package stability

import (
	"fmt"
	"math"
)

// Record is a log of an oscillator's frequency as it was taken, evenly spaced
// or not, with gaps or without. Nothing in this package alters it.
type Record struct {
	TimeS       []float64 // s on any clock, never running backwards
	FrequencyHz []float64 // Hz, one for each time; NaN where a reading is missing
	AmbientC    []float64 // °C, empty or one for each time; NaN where missing

	// FirstReadingAfterS is the time from power-on to the first entry of TimeS,
	// in s. 0 takes the first reading as the moment of power-on; a negative
	// number says that the log began before it.
	FirstReadingAfterS float64

	// ResolutionHz is the smallest step the readings can show, in Hz. 0 takes
	// the decimal place to which the readings are written.
	ResolutionHz float64
}

// Trend is a smooth curve through a warm-up, on the time axis of seconds since
// power-on. Travel returns the change from t1 to t2 with its standard
// uncertainty, both in Hz.
type Trend interface {
	At(t float64) float64
	Travel(t1, t2 float64) (d, u float64)
	ShortestTimeConstant() float64
}

// TimeBackwardsError says that a time is earlier than the one before it.
type TimeBackwardsError struct {
	Index         int // of the later entry, from 0
	BeforeS, NowS float64
}

func (e *TimeBackwardsError) Error() string {
	return fmt.Sprintf("reading %d: time runs backwards, from %g s to %g s; put the readings in the order in which they were taken",
		e.Index+1, e.BeforeS, e.NowS)
}

// BadReadingError says that an entry is no number that can be used.
type BadReadingError struct {
	Index  int
	Column string // "time", "frequency" or "ambient"
	Found  float64
}

func (e *BadReadingError) Error() string {
	return fmt.Sprintf("reading %d: %s is %g; a finite number was expected", e.Index+1, e.Column, e.Found)
}

// TooFewReadingsError says that a record holds fewer readings than are needed.
type TooFewReadingsError struct{ Found, Need int }

func (e *TooFewReadingsError) Error() string {
	return fmt.Sprintf("%d usable readings found, at least %d are needed", e.Found, e.Need)
}

// UnequalColumnsError says that two columns of a record differ in length.
type UnequalColumnsError struct {
	Column      string
	Found, Want int
}

func (e *UnequalColumnsError) Error() string {
	return fmt.Sprintf("column %s has %d entries, there are %d times", e.Column, e.Found, e.Want)
}

// Warning is something about a record that a reader of its figures should
// know. Indices are those of the record, from 0, at most ten of Count.
type Warning struct {
	Text    string
	Count   int
	Indices []int
}

// Check says what is wrong with a record (err) and what is odd about it.
// Times may repeat, with a warning; they may not run backwards. NaN stands for
// a missing frequency or temperature; a time may not be missing. At least two
// frequencies are needed.
func (r Record) Check() ([]Warning, error) {
	if err := r.checkColumns(); err != nil {
		return nil, err
	}
	repeated := Warning{Text: "times repeated; all readings are kept"}
	missing := Warning{Text: "readings missing"}
	early := Warning{Text: "readings taken before power-on are left out"}
	for i, t := range r.TimeS {
		if i > 0 && t < r.TimeS[i-1] {
			return nil, &TimeBackwardsError{Index: i, BeforeS: r.TimeS[i-1], NowS: t}
		}
		if i > 0 && t == r.TimeS[i-1] {
			repeated.add(i)
		}
		if math.IsNaN(r.FrequencyHz[i]) {
			missing.add(i)
		}
		if r.sincePowerOn(i) < 0 {
			early.add(i)
		}
	}
	if got := len(recSeriesOf(r, math.Inf(1)).t); got < 2 {
		return nil, &TooFewReadingsError{Found: got, Need: 2}
	}
	return recNonEmpty(repeated, missing, early), nil
}

// checkColumns checks lengths and that each entry is a number.
func (r Record) checkColumns() error {
	n := len(r.TimeS)
	if len(r.FrequencyHz) != n {
		return &UnequalColumnsError{"frequency", len(r.FrequencyHz), n}
	}
	if len(r.AmbientC) != 0 && len(r.AmbientC) != n {
		return &UnequalColumnsError{"ambient", len(r.AmbientC), n}
	}
	if v := r.FirstReadingAfterS; math.IsNaN(v) || math.IsInf(v, 0) {
		return &BadReadingError{0, "time from power-on to the first reading", v}
	}
	for i, t := range r.TimeS {
		if math.IsNaN(t) || math.IsInf(t, 0) {
			return &BadReadingError{i, "time", t}
		}
		if math.IsInf(r.FrequencyHz[i], 0) {
			return &BadReadingError{i, "frequency", r.FrequencyHz[i]}
		}
		if len(r.AmbientC) > 0 && math.IsInf(r.AmbientC[i], 0) {
			return &BadReadingError{i, "ambient", r.AmbientC[i]}
		}
	}
	return nil
}

// sincePowerOn returns the time of entry i in seconds since power-on.
func (r Record) sincePowerOn(i int) float64 {
	return r.TimeS[i] - r.TimeS[0] + r.FirstReadingAfterS
}

// EndS returns the time of the last reading in seconds since power-on, NaN
// where there is none.
func (r Record) EndS() float64 {
	s := recSeriesOf(r, math.Inf(1))
	if len(s.t) == 0 {
		return math.NaN()
	}
	return s.t[len(s.t)-1]
}

func (w *Warning) add(i int) {
	if w.Count++; len(w.Indices) < 10 {
		w.Indices = append(w.Indices, i)
	}
}

func recNonEmpty(all ...Warning) []Warning {
	var out []Warning
	for _, w := range all {
		if w.Count > 0 {
			out = append(out, w)
		}
	}
	return out
}
