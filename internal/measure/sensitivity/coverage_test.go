package sensitivity

import (
	"context"
	"math"
	"os"
	"testing"

	"setwright/noise"
	"setwright/superhet"
)

// coverageRecords is how many runs are simulated for each case: enough for a
// look, or all of them under SETWRIGHT_COVERAGE=full.
func coverageRecords() (n int, full bool) {
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		return 300, true
	}
	return 24, false
}

// TestCoverageOfLevels simulates runs of invented sets, readings, settings and
// generator each with their errors, and counts how often the true level lies
// within the stated 95 % interval: 90 to 99 % of 300 (a binomial of 95 % strays
// by 1.3 % one standard deviation), wider for the short look.
func TestCoverageOfLevels(t *testing.T) {
	n, full := coverageRecords()
	for _, c := range []struct {
		name   string
		s      set
		levels []float64
		target target
		common float64
		once   bool // the noise is read once, with the lowest level
	}{
		{"CW, 9 levels", set{figureDB: 10, bandwidthHz: 500, mode: modeCW}, about(-141, -118, 9), target{"sensitivity_cw", 10}, 0, false},
		{"CW, noise read once", set{figureDB: 10, bandwidthHz: 500, mode: modeCW}, about(-141, -118, 9), target{"sensitivity_cw", 10}, 0, true},
		{"CW floor, noise read once", set{figureDB: 10, bandwidthHz: 500, mode: modeCW}, about(-141, -118, 9), target{"mds", 3}, 0, true},
		{"CW floor with hum", set{figureDB: 10, bandwidthHz: 500, mode: modeCW, ceilingDB: 22}, about(-139, -118, 8), target{"mds", 3}, 0, false},
		{"CW floor", set{figureDB: 10, bandwidthHz: 500, mode: modeCW}, about(-141, -118, 9), target{"mds", 3}, 0, false},
		{"CW, generator off by as much as stated", set{figureDB: 10, bandwidthHz: 500, mode: modeCW}, about(-135, -120, 6), target{"sensitivity_cw", 10}, 1, false},
		{"CW, 3 levels", set{figureDB: 10, bandwidthHz: 500, mode: modeCW}, about(-131, -124, 3), target{"sensitivity_cw", 10}, 0, false},
		{"AM, 9 levels", set{figureDB: 10, bandwidthHz: 6000, mode: modeAM, depth: 0.3}, about(-116, -96, 9), target{"sensitivity_am", 10}, 0, false},
		{"AM with hum", set{figureDB: 10, bandwidthHz: 6000, mode: modeAM, depth: 0.3, ceilingDB: 20}, about(-118, -85, 12), target{"sensitivity_am", 10}, 0, false},
	} {
		inside, given, width := 0, 0, 0.0
		for i := range n {
			raw := bench{levels: c.levels, readingDB: 0.25, stepDB: 0.2, commonDB: c.common, seed: uint64(1000 + i)}.measure(c.s)
			raw.Options["level_u"], raw.Options["modulation_u"] = "0.01 dB", "0.1 %"
			if c.once {
				off := raw.Series.Column("output_off")
				for i := 1; i < len(off.Values); i++ {
					off.Values[i] = math.NaN()
				}
			}
			if c.common > 0 {
				raw.Options["level_u"] = plain(c.common) + " dB"
			}
			a, err := Measurement{}.Analyse(context.Background(), raw, nil)
			if err != nil {
				t.Fatal(err)
			}
			f := find(a.Figures, c.target.id)
			if f == nil || f.Kind != "value" {
				continue
			}
			given++
			truth := level(c.s, c.target.dB)
			got := superhet.DBuV(f.Value)
			width += got.Expanded(0.95) / float64(n)
			if lo, hi := got.Interval(0.95); lo <= truth && truth <= hi {
				inside++
			}
		}
		share := float64(inside) / float64(given)
		t.Logf("%-40s %d of %d given, true level inside in %.1f %%, half width %.2f dB", c.name, given, n, 100*share, width)
		low, high := 0.90, 0.99
		if !full {
			low, high = 0.75, 1 // 24 of a binomial of 95 % fall below it once in 7000
		}
		if given < n*9/10 || share < low || share > high {
			t.Errorf("%s: %d of %d given, inside %.1f %%", c.name, given, n, 100*share)
		}
	}
}

// level is the true EMF in dBµV behind 50 ohm at which an invented set reaches a
// ratio.
func level(s set, ratio float64) float64 {
	lo, hi := -170.0, 0.0
	for range 80 {
		mid := (lo + hi) / 2
		if s.over(mid) < ratio {
			lo = mid
		} else {
			hi = mid
		}
	}
	volts := 2 * math.Sqrt(1e-3*noise.Ratio(lo)*50)
	return 20*math.Log10(volts) + 120
}
