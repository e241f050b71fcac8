package signal

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// The settling of a first-order loop in dB after steps of 20 dB, in a noise
// output and in a tone with noise: t = tau ln(E/c).
func TestRecoveryCoverage(t *testing.T) {
	records, full := coverageRecords()
	for _, noise := range []bool{true, false} {
		name := map[bool]string{true: "noise output", false: "tone in noise"}[noise]
		t.Run(name, func(t *testing.T) {
			attack, recovery := &covered{name: "attack"}, &covered{name: "recovery"}
			final, over := &covered{name: "final level"}, &covered{name: "overshoot"}
			for k := range records {
				oneRecovery(t, rand.New(rand.NewPCG(uint64(k), 78)), noise, attack, recovery, final, over)
			}
			for _, c := range []*covered{attack, recovery, final, over} {
				c.check(t, full)
			}
		})
	}
}

func oneRecovery(t *testing.T, rng *rand.Rand, noise bool, attack, recovery, final, over *covered) {
	const rate = 8000.0
	tauA, tauR := 0.015+0.05*rng.Float64(), 0.1+0.3*rng.Float64()
	up, down := 0.7+0.01*rng.Float64(), 1.5+0.01*rng.Float64()
	x := make([]float64, int(3.6*rate))
	for i := range x {
		s := float64(i) / rate
		level := -30.0
		switch {
		case s >= down:
			level = -30 - 18*math.Exp(-(s-down)/tauR)
		case s >= up:
			level = -28 + 18*math.Exp(-(s-up)/tauA)
		}
		a := math.Pow(10, level/20)
		if noise {
			x[i] = a / math.Sqrt2 * rng.NormFloat64()
		} else {
			x[i] = a * (math.Sin(2*math.Pi*997*s) + 0.1*rng.NormFloat64())
		}
	}
	env, err := Envelope(context.Background(), FromSlice(rate, x), EnvelopeOptions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	steps := FindSteps(env, StepOptions{MinDB: 8})
	if len(steps) != 2 {
		t.Fatalf("%d steps, expected 2: %+v", len(steps), steps)
	}
	for i, tau := range []float64{tauA, tauR} {
		r, err := FitRecovery(env, steps[i], RecoveryOptions{})
		if err != nil {
			t.Fatal(err)
		}
		c := map[int]*covered{0: attack, 1: recovery}[i]
		c.add(r.Seconds, r.U, tau*math.Log(6))
		if i == 0 {
			over.add(r.OvershootDB, r.OvershootU, 18)
		} else {
			bias := 0.0
			if noise { // the mean of the log of a mean of n exponentials is −1/(2n) low
				bias = -4.343 / 80
			} else {
				bias = 10 * math.Log10(1.02)
			}
			final.add(r.FinalDB, r.FinalU, -30+bias)
		}
	}
}
