package bfo

import (
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/internal/measure/settings"
)

// setting are the options of an analysis, read and checked. Numbers not given
// are NaN.
type setting struct {
	centreHz, centreU float64
	assumed           bool // the centre is the set's nominal one
	control           string
	down              bool // the frequency falls with the control's scale
	injection         string
	passLow, passHigh float64
	speech            [2]float64
	enough            float64
	pitch             float64
	pitchRange        [2]float64
}

func read(raw measure.Raw) (setting, error) {
	p := settings.New(raw, Measurement{}.About())
	s := setting{
		centreHz: p.Number("centre"), centreU: p.Number("centre_u"), control: p.Word("control"), down: p.Word("direction") == "down",
		injection: p.Word("injection"), passLow: p.Number("passband_low"), passHigh: p.Number("passband_high"),
		enough: p.Number("enough") / 100, pitch: p.Number("pitch"),
	}
	speech, pitches, width := p.Numbers("speech"), p.Numbers("pitch_range"), p.Number("bandwidth")
	if err := p.Err(); err != nil {
		return s, err
	}
	if math.IsNaN(s.centreHz) && raw.IFHz > 0 {
		s.centreHz, s.assumed = raw.IFHz, true
	}
	var err error
	if s.speech, err = pair("speech", speech); err != nil {
		return s, err
	}
	if s.pitchRange, err = pair("pitch_range", pitches); err != nil {
		return s, err
	}
	return s, s.takePassband(width)
}

// takePassband fills in the edges from the bandwidth and checks them.
func (s *setting) takePassband(width float64) error {
	low, high := math.IsNaN(s.passLow), math.IsNaN(s.passHigh)
	switch {
	case low && high && width > 0:
		s.passLow, s.passHigh = -width/2, width/2
	case low != high:
		return &measure.Refusal{Row: -1, Found: "one edge of the passband", Expected: "both, or the bandwidth"}
	case !low && s.passHigh <= s.passLow:
		return &measure.Refusal{Row: -1, Found: "an upper edge of the passband that does not lie above the lower", Expected: "rising frequencies"}
	}
	return nil
}

// pair checks an option of two numbers.
func pair(name string, x []float64) ([2]float64, error) {
	sort.Float64s(x)
	if len(x) != 2 || x[0] == x[1] {
		return [2]float64{}, &measure.Refusal{Row: -1, Found: "other than two different numbers in the option \"" + name + "\"", Expected: "the lowest and the highest"}
	}
	return [2]float64{x[0], x[1]}, nil
}

// hasPassband says that the passband is known.
func (s setting) hasPassband() bool { return !math.IsNaN(s.passLow) }
