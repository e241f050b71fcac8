package signal_test

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"setwright/signal"
)

// timeSignal is an invented broadcast received by a sound input whose true rate
// is rate*(1+error): every second a tick of five cycles of 1 kHz, none in second
// 29, between them a tone; noise and fading.
func timeSignal(rate, seconds, rateError, noise float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 7))
	x := make([]float64, int(rate*seconds))
	for i := range x {
		s := float64(i)/(rate*(1+rateError)) + 0.3217 // true time
		whole, part := math.Modf(s)
		fade := 0.6 + 0.35*math.Sin(2*math.Pi*s/17)
		switch {
		case part < 0.005 && math.Mod(whole, 30) != 29:
			x[i] = 0.3 * fade * math.Sin(2*math.Pi*1000*part)
		case part > 0.03 && part < 0.99:
			x[i] = 0.1 * fade * math.Sin(2*math.Pi*500*s)
		}
		x[i] += noise * rng.NormFloat64()
	}
	return x
}

// A broadcast's ticks put the sample rate right.
func TestTickRate(t *testing.T) {
	inside := 0
	const runs = 12
	for k := range runs {
		rateError := (float64(k) - 6) * 37e-6
		x := timeSignal(8000, 120, rateError, 0.03, uint64(k))
		r, err := signal.MeasureTickRate(context.Background(), signal.FromSlice(8000, x), signal.TickOptions{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		off := r.RateError - rateError
		if math.Abs(off) < 2*r.RateErrorU {
			inside++
		}
		if math.Abs(off) > 4*r.RateErrorU || r.RateErrorU > 2e-6 || r.Ticks < 100 || r.SpanS < 110 {
			t.Errorf("rate error %.2f ± %.2f ppm of %.2f, %d ticks, %d missed, jitter %.3f ms", 1e6*r.RateError, 1e6*r.RateErrorU, 1e6*rateError, r.Ticks, r.Missed, 1e3*r.JitterS)
		}
	}
	if inside < runs*3/4 {
		t.Errorf("inside two standard uncertainties in %d of %d", inside, runs)
	}
}

// Where nothing ticks there is no rate.
func TestTickRateRefuses(t *testing.T) {
	noise := note{rate: 8000, seconds: 90, hz: steady(1000), amplitude: steady(0), noise: 0.1, seed: 3}
	tone := note{rate: 8000, seconds: 90, hz: steady(1000), noise: 0.01, seed: 4}
	for name, x := range map[string][]float64{"noise": noise.samples(), "a steady tone": tone.samples(), "silence": make([]float64, 90*8000), "one second": make([]float64, 8000)} {
		if r, err := signal.MeasureTickRate(context.Background(), signal.FromSlice(8000, x), signal.TickOptions{}, nil); err == nil {
			t.Errorf("%s: %+v", name, r)
		} else if !strings.HasPrefix(err.Error(), "signal: ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
