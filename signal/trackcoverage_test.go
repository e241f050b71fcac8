package signal_test

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"setwright/signal"
)

// The stated 95 % interval of a tone's frequency holds the truth in 90 to 99 %
// of simulated records, whatever the strength and the colour of the noise; 300
// records each where SETWRIGHT_COVERAGE is full.
func TestToneFrequencyCoverage(t *testing.T) {
	records := 60
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		records = 300
	}
	for _, c := range []struct {
		name          string
		noise, peaked float64 // rms, white and through a resonance 60 Hz wide beside the tone
		slope         float64
	}{
		{"40 dB", 0.0007, 0, 0},
		{"17 dB", 0.01, 0, 0.2},
		{"0 dB in 3 kHz", 0.082, 0, -0.5},
		{"-5 dB in 3 kHz", 0.145, 0, 0},
		{"noise of a narrow filter", 0.002, 0.03, 0.3},
	} {
		rng := rand.New(rand.NewPCG(uint64(len(c.name)), 1957))
		inside, points := 0, 0
		for k := range records {
			start := 600 + 400*rng.Float64()
			hz := func(s float64) float64 { return start + c.slope*s }
			n := note{rate: 8000, seconds: 5, hz: hz, noise: c.noise, seed: uint64(k)}
			x := n.samples()
			if c.peaked > 0 {
				addPeakedNoise(rng, x, n.rate, start+10, 60, c.peaked)
			}
			tr := track(t, x, n.rate, signal.TrackOptions{})
			p := tr.Points[2] // one of a record: they share the density beside the tone
			if p.Lost {
				continue
			}
			points++
			if math.Abs(p.Hz-hz(p.TimeS)) < 1.96*p.U {
				inside++
			}
		}
		share := float64(inside) / float64(points)
		t.Logf("%s: the truth inside in %.1f %% of %d", c.name, 100*share, points)
		slack := 2.5 * math.Sqrt(0.05*0.95/float64(records)) // chance of so few records
		if points < records*9/10 || share < 0.95-math.Max(0.05, slack) || share > 0.99+slack {
			t.Errorf("%s: inside in %.1f %% of %d records", c.name, 100*share, points)
		}
	}
}
