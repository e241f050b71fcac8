package stability

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

func adevBenchPhase(b *testing.B, n int) Phase {
	b.Helper()
	r := rand.New(rand.NewPCG(1, 2))
	x := make([]float64, n)
	for i := 1; i < n; i++ {
		x[i] = x[i-1] + 1e-9*r.NormFloat64()
	}
	p, err := NewPhase(x, 1)
	if err != nil {
		b.Fatal(err)
	}
	return p
}

// BenchmarkOctaves is workload P1 within one process: three kinds, all octaves.
func BenchmarkOctaves(b *testing.B) {
	for _, n := range []int{1_000_000, 10_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			p := adevBenchPhase(b, n)
			b.ReportAllocs()
			for b.Loop() {
				_, err := DeviationsOf(p, DeviationOptions{Kinds: []Kind{KindOverlappingAllan, KindModifiedAllan, KindOverlappingHadamard}})
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkOneFactor is one walk over 10^6 points.
func BenchmarkOneFactor(b *testing.B) {
	p := adevBenchPhase(b, 1_000_000)
	for _, m := range []int{1, 64, 4096, 65536} {
		b.Run(fmt.Sprint(m), func(b *testing.B) {
			for b.Loop() {
				q := devPass{m: m}
				devWalk(p, []*devPass{&q})
			}
		})
	}
}

// BenchmarkDegreesOfFreedom is the exact sum for a long record.
func BenchmarkDegreesOfFreedom(b *testing.B) {
	for b.Loop() {
		edfShape{alpha: RandomWalkFM, d: 3, f: 1 << 20, s: 1 << 20}.edf([]int{6_000_000})
	}
}

// BenchmarkTotal is the modified total deviation of 10^5 points, octaves.
func BenchmarkTotal(b *testing.B) {
	p := adevBenchPhase(b, 100_000)
	for b.Loop() {
		if _, err := Deviations(KindModifiedTotal, p); err != nil {
			b.Fatal(err)
		}
	}
}
