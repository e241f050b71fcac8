package stability

import (
	"context"
	"math/rand/v2"
	"testing"
)

// BenchmarkAnalyse takes a warm-up of two hours apart, a reading a second.
func BenchmarkAnalyse(b *testing.B) {
	ts, f := sampled(curve{limit: 7e6, slope: -1e-4, amp: []float64{400, -2000}, tau: []float64{200, 1500}}, 1, 7200)
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range f {
		f[i] += 2 * rng.NormFloat64()
	}
	r := Record{TimeS: ts, FrequencyHz: f}
	for b.Loop() {
		if _, err := Analyse(context.Background(), r, Options{Fit: FitTrend}); err != nil {
			b.Fatal(err)
		}
	}
}
