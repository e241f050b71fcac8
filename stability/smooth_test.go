package stability

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A straight warm-up is left as it is, whatever the spacing, up to the ends.
func TestSmoothingKeepsALine(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var ts, f []float64
	x := 0.0
	for i := 0; i < 200; i++ {
		ts, f = append(ts, x), append(f, 7e6-3*x)
		x += 1 + 5*rng.Float64()
	}
	s := Smooth(ts, f, nil, 0)
	for i := range f {
		near(t, "smoothed", s.FrequencyHz[i], f[i], 1e-6)
	}
}

// Nothing leaks across a jump or a gap.
func TestSmoothingStopsAtABreak(t *testing.T) {
	var ts, f []float64
	for i := 0; i < 100; i++ {
		ts, f = append(ts, float64(i)), append(f, 1000)
		if i >= 40 {
			f[i] = 2000
		}
	}
	for i, v := range Smooth(ts, f, []int{40}, 0).FrequencyHz {
		if v != f[i] {
			t.Errorf("reading %d: %v, want %v", i, v, f[i])
		}
	}
}

// The tenth of a time constant wins over 30 s and 5 readings; with fewer than
// three readings inside it, or thirty in all, the readings stand.
func TestSmoothingYieldsToASteepStart(t *testing.T) {
	c := curve{limit: 5e6, amp: []float64{-2000}, tau: []float64{60}}
	ts, f := sampled(c, 1, 600)
	worst := 0.0
	for i, v := range Smooth(ts, f, nil, 60).FrequencyHz {
		worst = math.Max(worst, math.Abs(v-f[i]))
	}
	if worst > 2000*0.1*0.1/8 { // curvature over a tenth of tau, at most A/8·0.01
		t.Errorf("steep start changed by %v Hz", worst)
	}
	ts, f = sampled(c, 5, 600)
	for i, v := range Smooth(ts, f, nil, 60).FrequencyHz {
		if v != f[i] { // ±3 s holds one reading
			t.Fatalf("reading %d changed", i)
		}
	}
	if s := Smooth(ts[:29], f[:29], nil, 0); s.FrequencyHz[7] != f[7] || !s.Sparse() {
		t.Error("29 readings were smoothed")
	}
}

// The stated uncertainty of a smoothed point is the scatter it has.
func TestUncertaintyOfSmoothedPoints(t *testing.T) {
	const n, runs = 121, 2000
	for _, h := range []float64{1, 3, 10} {
		ts := make([]float64, n)
		for i := range ts {
			ts[i] = float64(i) * h
		}
		p := newSmPlan(ts, nil, 0)
		rng := rand.New(rand.NewPCG(8, 9))
		f, out := make([]float64, n), make([]float64, n)
		sum := make([]float64, n)
		for k := 0; k < runs; k++ {
			for i := range f {
				f[i] = rng.NormFloat64()
			}
			p.apply(f, out)
			for i, v := range out {
				sum[i] += v * v
			}
		}
		for _, i := range []int{0, 1, 2, 60, 120} {
			got := math.Sqrt(sum[i] / runs)
			stated := p.uncertainty(i, 1, nil)
			if r := stated / got; r < 0.95 || r > 1.22 {
				t.Errorf("h = %v s, point %d: stated %.3f, scatter %.3f", h, i, stated, got)
			}
		}
	}
}
