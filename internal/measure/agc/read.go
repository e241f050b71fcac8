package agc

import (
	"fmt"
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/internal/measure/settings"
	"setwright/superhet"
)

// options read and checked; NaN where not given.
type agcSettings struct {
	source                  source
	spreadFrom, spreadTo    float64 // dBm
	slopeFrom, slopeTo      float64 // dBm
	referenceV, dropDB      float64
	readingU, levelU, stepU float64    // dB
	criterionDB, swingU     float64    // dB, %
	band                    [2]float64 // 0, 0: all
}

// read parses the options of a run; a wrong one is refused with its name.
func read(raw measure.Raw) (agcSettings, error) {
	r := settings.New(raw, Measurement{}.About())
	s := agcSettings{
		source:      source{ohm: r.Number("source_resistance"), volts: r.Word("voltage_is")},
		referenceV:  r.Number("merit_reference"),
		dropDB:      r.Number("merit_drop"),
		readingU:    r.Number("reading_u"),
		levelU:      r.Number("level_u"),
		stepU:       r.Number("step_u"),
		criterionDB: r.Number("criterion"),
		swingU:      r.Number("swing_u"),
	}
	var err error
	s.spreadFrom, s.spreadTo, err = pair(r, "spread_range", err)
	s.slopeFrom, s.slopeTo, err = pair(r, "slope_range", err)
	lo, hi, err := pair(r, "band", err)
	if !math.IsNaN(lo) {
		s.band = [2]float64{lo, hi}
	}
	if r.Err() != nil {
		return s, r.Err()
	}
	if c := raw.Series.Column("input"); c != nil && s.source.volts == "" {
		s.source.volts = superhet.VoltsAsTyped(c.Text)
	}
	return s, err
}

// pair reads an option that takes two numbers, the lower first.
func pair(r *settings.Reader, name string, before error) (lo, hi float64, err error) {
	all := r.Numbers(name)
	switch {
	case len(all) == 0:
		return math.NaN(), math.NaN(), before
	case len(all) != 2 || all[0] == all[1]:
		if before == nil {
			before = &measure.Refusal{Row: -1, Found: fmt.Sprintf("%s in the option %q", plural(len(all), "number", "numbers"), name), Expected: "two that differ, separated by a comma"}
		}
		return math.NaN(), math.NaN(), before
	}
	sort.Float64s(all)
	return all[0], all[1], before
}
