package selectivity

import (
	"math"
	"os"
	"testing"

	"setwright/internal/run"
	"setwright/quantity"
)

// records is how many simulated runs each row has: 300 under
// SETWRIGHT_COVERAGE=full, few enough for everyday else.
func records(few int) int {
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		return 300
	}
	return few
}

// inside says whether the truth lies within the stated 95 % interval.
func inside(f run.Figure, truth float64) bool {
	if f.Kind != quantity.KindValue {
		return false
	}
	if f.CI != nil {
		return truth >= f.CI[0] && truth <= f.CI[1]
	}
	lo, hi := f.Value.Interval(0.95)
	return truth >= lo && truth <= hi
}

// The truth lies within the stated 95 % intervals of widths in 90 to 99 of a
// hundred simulated runs, for sharp and blunt passbands and good and poor
// readings. (Up to 100 where what lies between the readings outweighs their
// scatter: the widths at −60 dB of blunt curves are given too much there.)
func TestCoverageOfBandwidths(t *testing.T) {
	for _, c := range []struct {
		name  string
		f     func(float64) float64
		noise float64
	}{
		{"one circuit", circuits(1), 0.2}, {"three circuits", circuits(3), 0.2}, {"six circuits", circuits(6), 0.2},
		{"one pair", pairs(1, 1), 0.2}, {"three pairs", pairs(3, 1), 0.2}, {"three pairs, good readings", pairs(3, 1), 0.1},
		{"three pairs, poor readings", pairs(3, 1), 0.4}, {"over-coupled", pairs(2, 1.5), 0.2},
	} {
		n := records(8)
		in := map[string]int{}
		want6, want60 := width(c.f, 6)*xKHz*kHz, width(c.f, 60)*xKHz*kHz
		for k := range n {
			b := bench{f: c.f, perX: xKHz * kHz, middle: 455.3e3, noise: c.noise, seed: uint64(1000 + k)}
			a := analyse(t, rawOf(b.constantOutput(steps(c.f, 66)), map[string]string{"nominal": "455 kHz", "attenuator": "0.01 %"}))
			for id, want := range map[string]float64{"bandwidth_6": want6, "bandwidth_60": want60, "centre_offset": 300, "shape_factor": want60 / want6} {
				if inside(find(t, a, id, ""), want) {
					in[id]++
				}
			}
		}
		for _, id := range []string{"bandwidth_6", "bandwidth_60", "centre_offset", "shape_factor"} {
			share := float64(in[id]) / float64(n)
			t.Logf("%-28s %-14s %5.1f %% of %d", c.name, id, 100*share, n)
			// three standard deviations of the count below 90 %
			if least := 0.90 - 3*math.Sqrt(0.9*0.1/float64(n)); share < least {
				t.Errorf("%s: %s inside its interval in %.1f %% of %d, expected 90 to 99", c.name, id, 100*share, n)
			}
		}
	}
}

// The same from noise, twenty seconds at 10 kHz: what is stated is the noise
// averaged for a limited time.
func TestCoverageFromNoise(t *testing.T) {
	const rate, seconds = 10000.0, 20
	for _, c := range []struct {
		name string
		f    func(float64) float64
		perX float64
	}{{"two pairs", pairs(2, 1), 455e3 / 480}, {"crystal and pairs", func(x float64) float64 { return circuits(1)(x) + pairs(2, 1)(x/6) }, 150}, {"two humps", pairs(2, 1.5), 600}} {
		n := records(3)
		in := map[string]int{}
		want := map[string]float64{"bandwidth_6": width(c.f, 6) * c.perX, "noise_bandwidth": noiseWidth(c.f) * c.perX, "centre_offset": 0}
		for k := range n {
			x := noiseThrough(func(hz float64) float64 { return c.f((2300 - hz) / c.perX) }, rate, rate*seconds, -45, uint64(3000+k))
			a := analyse(t, noiseRaw(map[string]string{"detection": "bfo", "bfo_offset": "2.3 kHz", "bfo_offset_u": "0.01 Hz"}, recorded("a.wav", "", rate, x)))
			for id, truth := range want {
				if inside(find(t, a, id, ""), truth) {
					in[id]++
				}
			}
		}
		for id := range want {
			share := float64(in[id]) / float64(n)
			t.Logf("%-20s %-16s %5.1f %% of %d", c.name, id, 100*share, n)
			if least := 0.90 - 3*math.Sqrt(0.9*0.1/float64(n)); share < least {
				t.Errorf("%s: %s inside its interval in %.1f %% of %d, expected 90 to 99", c.name, id, 100*share, n)
			}
		}
	}
}

// noiseWidth is the integral of the power response over its maximum.
func noiseWidth(f func(float64) float64) float64 {
	return shapeOf(f, 90).Noise.Hz
}
