package audio

import (
	"fmt"
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/internal/measure/settings"
)

// options read and checked; NaN where not given.
type audioSettings struct {
	refHz, edgeDB, depthPct, limitPct float64
	bandHz                            [2]float64 // 0, 0: default
	lineHz                            float64    // 0: estimated
	sourceTHD                         float64    // fraction
	readingU                          float64    // dB
	loadOhm                           float64
}

// read parses the options of a run; a wrong one is refused with its name.
func read(raw measure.Raw) (audioSettings, error) {
	r := settings.New(raw, Measurement{}.About())
	s := audioSettings{
		refHz: r.Number("reference"), edgeDB: r.Number("edge"), depthPct: r.Number("depth"), limitPct: r.Number("thd_limit"),
		sourceTHD: r.Number("source_thd") / 100, readingU: r.Number("reading_u"), loadOhm: r.Number("load"),
	}
	if line := r.Number("line"); !math.IsNaN(line) {
		s.lineHz = line
	}
	band := r.Numbers("band")
	sort.Float64s(band)
	if r.Err() != nil {
		return s, r.Err()
	}
	switch {
	case len(band) == 2 && band[1] > band[0] && band[0] >= 0:
		s.bandHz = [2]float64{band[0], band[1]}
	case len(band) > 0:
		return s, &measure.Refusal{Row: -1, Found: fmt.Sprintf("%d frequencies in the option \"band\"", len(band)), Expected: "two that differ, for example 20 Hz, 15 kHz"}
	}
	return s, nil
}
