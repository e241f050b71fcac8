package passband

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// walkCovariance is the covariance of an integrated random walk that begins at
// 0 with level and slope hardly known: the textbook kernel of a cubic smoothing
// spline, q·min²·(3·max − min)/6.
func walkCovariance(s, t, q float64) float64 {
	a, b := math.Min(s, t), math.Max(s, t)
	return broad*(1+s*t) + q*a*a*(3*b-a)/6
}

// Mean and variance by the filter are those of the whole matrix of
// covariances, which knows nothing of states.
func TestFilterAgreesWithTheCovarianceMatrix(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	const q, noise = 30.0, 0.3
	var nodes []node
	var at []float64
	for i := range 14 {
		n := node{du: 0.05 + 0.4*rng.Float64(), per: 1 + float64(i%2)}
		if i == 0 {
			n.du = 0
		}
		n.has, n.y, n.known = i%4 != 3, 5*rng.NormFloat64(), 0.01*float64(i%3)
		u := n.du
		if i > 0 {
			u += at[i-1]
		}
		nodes, at = append(nodes, n), append(at, u)
	}
	filtered, smooth := make([]state, len(nodes)), make([]state, len(nodes))
	forward(nodes, q, noise*noise, filtered)
	smoothed(nodes, q, filtered, smooth)

	var seen []int
	for i, n := range nodes {
		if n.has {
			seen = append(seen, i)
		}
	}
	k := len(seen)
	cov, y := mat.NewDense(k, k, nil), mat.NewVecDense(k, nil)
	for a, i := range seen {
		y.SetVec(a, nodes[i].y)
		for b, j := range seen {
			c := walkCovariance(at[i], at[j], q)
			if i == j {
				c += nodes[i].variance(noise * noise)
			}
			cov.Set(a, b, c)
		}
	}
	for i := range nodes {
		cross := mat.NewVecDense(k, nil)
		for a, j := range seen {
			cross.SetVec(a, walkCovariance(at[i], at[j], q))
		}
		var w mat.VecDense
		if err := w.SolveVec(cov, cross); err != nil {
			if _, ok := err.(mat.Condition); !ok {
				t.Fatal(err)
			}
		}
		mean, variance := mat.Dot(&w, y), walkCovariance(at[i], at[i], q)-mat.Dot(&w, cross)
		if math.Abs(mean-smooth[i].m) > 1e-3 || math.Abs(variance-smooth[i].pmm) > 1e-3+0.01*variance {
			t.Errorf("node %d: %g ± %g, by the matrix %g ± %g", i, smooth[i].m, math.Sqrt(smooth[i].pmm), mean, math.Sqrt(variance))
		}
	}
}

// Draws scatter about the smoothed mean as its variance says.
func TestDrawsScatterAsTheVarianceSays(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	nodes := []node{{has: true, y: 1, known: 0.1, per: 1}, {du: 1}, {du: 1, has: true, y: -2, known: 0.1, per: 1}, {du: 0.7}, {du: 0.5, has: true, y: 0, known: 0.2, per: 1}}
	const q = 2.0
	filtered, smooth := make([]state, 5), make([]state, 5)
	forward(nodes, q, 0, filtered)
	smoothed(nodes, q, filtered, smooth)
	const n = 20000
	sum, second := make([]float64, 5), make([]float64, 5)
	out := make([]float64, 5)
	for range n {
		draw(nodes, q, filtered, rng.NormFloat64, out)
		for i, v := range out {
			sum[i] += v / n
			second[i] += v * v / n
		}
	}
	for i, s := range smooth {
		sd := math.Sqrt(second[i] - sum[i]*sum[i])
		if math.Abs(sum[i]-s.m) > 4*math.Sqrt(s.pmm/n) || math.Abs(sd/math.Sqrt(s.pmm)-1) > 0.03 {
			t.Errorf("place %d: draws %g ± %g, smoothed %g ± %g", i, sum[i], sd, s.m, math.Sqrt(s.pmm))
		}
	}
}

// Moving a curve in frequency or level moves the figures and nothing else;
// stretching it stretches them.
func TestFiguresMoveWithTheCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(-1e6, 1e6).Draw(t, "middle")
		by := math.Exp(rapid.Float64Range(-2, 7).Draw(t, "stretch"))
		up := rapid.Float64Range(-100, 100).Draw(t, "level")
		rng := rand.New(rand.NewPCG(3, 3))
		var a, b []Point
		for x := -6.0; x <= 6; x += 0.5 {
			y := -20*math.Log10(1+x*x) + 0.1*rng.NormFloat64()
			a = append(a, Point{Hz: x, DB: y})
			b = append(b, Point{Hz: at + by*x, DB: y + up})
		}
		ra, rb := measured(t, a), measured(t, b)
		wa, wb := ra.Bandwidth(6), rb.Bandwidth(6)
		if math.Abs(wb.Value/wa.Value/by-1) > 1e-4 || math.Abs(wb.U/wa.U/by-1) > 0.02 {
			t.Fatalf("%+v stretched by %g is %+v", wa, by, wb)
		}
		if math.Abs(rb.Top-ra.Top-up) > 1e-3 {
			t.Fatalf("top %g raised by %g is %g", ra.Top, up, rb.Top)
		}
	})
}

type fataler interface{ Fatal(...any) }

func measured(t fataler, points []Point) Result {
	c, err := Fit(context.Background(), points, Options{Draws: 100, Grid: 150})
	if err != nil {
		t.Fatal(err)
	}
	return c.Measure()
}

// The nearest falling sequence by hand: 3 1 2 falls as 3 1.5 1.5.
func TestPoolAdjacentViolators(t *testing.T) {
	y := []float64{3, 1, 2}
	fall(y, []float64{1, 1, 1}, true)
	if y[0] != 3 || y[1] != 1.5 || y[2] != 1.5 {
		t.Errorf("%v", y)
	}
	y = []float64{1, 3, 0, 5}
	fall(y, []float64{1, 1, 2, 1}, false)
	if y[0] != 1 || y[1] != 1 || y[2] != 1 || y[3] != 5 {
		t.Errorf("%v", y)
	}
}

// What cannot be fitted is refused.
func TestFitRefuses(t *testing.T) {
	good := []Point{{Hz: 1}, {Hz: 2, DB: 1}, {Hz: 3, DB: 2}, {Hz: 4, DB: 1}}
	for _, points := range [][]Point{nil, good, append(good, Point{Hz: math.NaN()}), append(good, Point{Hz: 4, DB: 3})} {
		if _, err := Fit(context.Background(), points, Options{}); err == nil {
			t.Errorf("%v fitted", points)
		}
	}
}

func BenchmarkFitAndMeasure25Readings(b *testing.B) {
	var points []Point
	for x := -6.0; x <= 6; x += 0.5 {
		points = append(points, Point{Hz: x, DB: -20 * math.Log10(1+x*x)})
	}
	for b.Loop() {
		c, err := Fit(context.Background(), points, Options{})
		if err != nil {
			b.Fatal(err)
		}
		c.Measure()
	}
}
