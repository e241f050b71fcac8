package stability

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// With independent noise the spread of the refits is the classical standard error.
func TestBootstrapSpread(t *testing.T) {
	times, f := warmUpColumn(t, "single_plus_noise")
	w := fitWarmUp(t, times, f, WarmUpOptions{Terms: []int{1}, NoLine: true, Loss: LeastSquares})
	calls := 0
	refits, err := w.Bootstrap(context.Background(), 800, 7, BootstrapOptions{BlockS: 60, Progress: func(done, of int) { calls++ }})
	if err != nil {
		t.Fatal(err)
	}
	mean, square := 0.0, 0.0
	for _, r := range refits {
		d := r.TausS[0] - w.Terms[0].TauS
		mean += d / 800
		square += d * d / 800
	}
	want := w.Terms[0].TauS * math.Sqrt(w.CovIndependent[3][3])
	near(t, "spread of the time constant", math.Sqrt(square-mean*mean)/want, 1, 0.12)
	if calls == 0 {
		t.Error("progress was not told")
	}
	again, _ := w.Bootstrap(context.Background(), 800, 7, BootstrapOptions{BlockS: 60})
	for i := range again {
		if again[i].TausS[0] != refits[i].TausS[0] {
			t.Fatal("the same seed gives other refits")
		}
	}
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, err := w.Bootstrap(stopped, 10, 1, BootstrapOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// A refit with every reading's own residual is the fit itself, for either loss,
// slips and all.
func TestRefitOfTheSameRecord(t *testing.T) {
	times, f := warmUpColumn(t, "single_plus_noise")
	rng := rand.New(rand.NewPCG(3, 3))
	for i := range f {
		f[i] += 4 * rng.NormFloat64()
	}
	f[40] += 40
	for _, loss := range []Loss{Huber, LeastSquares} {
		w := fitWarmUp(t, times, f, WarmUpOptions{Loss: loss})
		same, err := w.Refit(context.Background(), 1, nil, func(_ int, into []int) {
			for i := range into {
				into[i] = i
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "time constant", same[0].TausS[0], w.Terms[0].TauS, 1e-5)
		near(t, "limit", same[0].LimitHz, w.LimitHz, 1e-6)
		near(t, "slope", same[0].SlopeHzPerS, w.SlopeHzPerS, 1e-9)
	}
}
