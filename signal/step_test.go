package signal

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// stepRate is the sample rate of the tests of dynamics.
const stepRate = 8000

// settling is a tone or noise whose level in dB is given as a function of time.
func settling(seconds float64, noise bool, seed uint64, levelDB func(t float64) float64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 11))
	x := make([]float64, int(seconds*stepRate))
	for i := range x {
		t := float64(i) / stepRate
		a := math.Pow(10, levelDB(t)/20)
		if noise {
			x[i] = a / math.Sqrt2 * rng.NormFloat64()
		} else {
			x[i] = a * math.Sin(2*math.Pi*1000*t)
		}
	}
	return x
}

func envelope(t *testing.T, x []float64, o EnvelopeOptions) *LevelTrack {
	t.Helper()
	e, err := Envelope(context.Background(), FromSlice(stepRate, x), o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// A first-order loop in dB: t = tau ln(E/c). 40 dB step, ratio 10 (E = 36), tau
// 50 ms, criterion 3 dB: 124.2 ms (audio reference 6, recomputed).
func TestAttackOfAFirstOrderLoop(t *testing.T) {
	x := settling(2, false, 1, func(s float64) float64 {
		if s < 1 {
			return -50
		}
		return -46 + 36*math.Exp(-(s-1)/0.05)
	})
	env := envelope(t, x, EnvelopeOptions{})
	steps := FindSteps(env, StepOptions{})
	if len(steps) != 1 {
		t.Fatalf("%d steps: %+v", len(steps), steps)
	}
	within(t, "step", steps[0].TimeS, 1, 0.001)
	r, err := FitRecovery(env, steps[0], RecoveryOptions{})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", r)
	within(t, "attack", r.Seconds, 0.1242, 0.001)
	within(t, "time constant", r.TauS, 0.05, 0.0005)
	within(t, "overshoot", r.OvershootDB, 36, 0.3)
	within(t, "final level", r.FinalDB, -46, 0.05)
}

// Noise output of a set, 20 dB steps up and down of the carrier: first-order in
// dB, attack 20 ln(18/3) ms, recovery 300 ln(18/3) ms.
func TestAttackAndRecoveryOfNoise(t *testing.T) {
	x := settling(4, true, 1, func(s float64) float64 {
		switch {
		case s < 1:
			return -30
		case s < 2:
			return -28 + 18*math.Exp(-(s-1)/0.02)
		}
		return -30 - 18*math.Exp(-(s-2)/0.3)
	})
	env := envelope(t, x, EnvelopeOptions{})
	steps := FindSteps(env, StepOptions{})
	if len(steps) != 2 {
		t.Fatalf("%d steps, expected 2: %+v", len(steps), steps)
	}
	for i, tau := range []float64{0.02, 0.3} {
		r, err := FitRecovery(env, steps[i], RecoveryOptions{})
		if err != nil {
			t.Fatal(err)
		}
		within(t, "place of the step", steps[i].TimeS, float64(i+1), 3*steps[i].TimeU)
		within(t, "time", r.Seconds, tau*math.Log(6), 4*r.U)
	}
}
