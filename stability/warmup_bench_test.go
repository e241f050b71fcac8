package stability

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

func benchRecord(n int) (times, f []float64) {
	rng := rand.New(rand.NewPCG(1, 1))
	times, f = make([]float64, n), make([]float64, n)
	for i := range times {
		times[i] = float64(i)
		f[i] = 4.2e6 + times[i]/720 + 300*math.Exp(-times[i]/150) - 2000*math.Exp(-times[i]/1200) + 3*rng.NormFloat64()
	}
	return times, f
}

func BenchmarkFitWarmUp(b *testing.B) {
	for _, n := range []int{240, 7200, 20000} {
		times, f := benchRecord(n)
		b.Run(map[int]string{240: "240", 7200: "7200", 20000: "20000"}[n], func(b *testing.B) {
			for b.Loop() {
				if _, err := FitWarmUp(context.Background(), times, f, WarmUpOptions{}); err != nil && n > 240 {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkRefit(b *testing.B) {
	times, f := benchRecord(7200)
	w, err := FitWarmUp(context.Background(), times, f, WarmUpOptions{})
	if err != nil {
		b.Fatal(err)
	}
	r := w.resampler().clone()
	pick := make([]int, len(f))
	for i := range pick {
		pick[i] = (i*7919 + 13) % len(f)
	}
	for b.Loop() {
		r.refit(pick)
	}
}
