package passband

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

func single(n float64) func(x float64) float64 {
	return func(x float64) float64 { return -10 * n * math.Log10(1+x*x) }
}
func pair(n, a float64) func(x float64) float64 {
	return func(x float64) float64 {
		u := 1 + a*a - x*x
		return -10 * n * math.Log10((u*u+4*x*x)/((1+a*a)*(1+a*a)))
	}
}

func width(f func(float64) float64, down float64) float64 {
	top := math.Inf(-1)
	for x := 0.0; x < 10; x += 1e-3 {
		top = math.Max(top, f(x))
	}
	lo, hi := 0.0, 1e6
	for range 200 {
		m := math.Sqrt((lo + 1e-9) * hi)
		if f(m) > top-down {
			lo = m
		} else {
			hi = m
		}
	}
	return 2 * lo
}

func grid(f func(float64) float64, b6 float64) []float64 {
	var xs []float64
	half := width(f, 6) / 2
	far := width(f, 66) / 2
	xs = append(xs, 0)
	for k := 1; k <= 5; k++ {
		xs = append(xs, half*1.25*float64(k)/5, -half*1.25*float64(k)/5)
	}
	for k := 1; k <= 6; k++ {
		x := half * 1.25 * math.Pow(far/half/1.25, float64(k)/6)
		xs = append(xs, x, -x)
	}
	_ = b6
	return xs
}

func TestQuick(t *testing.T) {
	for _, noise := range []float64{0.1,0.2,0.4} {
	for name, f := range map[string]func(float64) float64{
		"single": single(1), "single3": single(3), "single6": single(6), "pair1": pair(1, 1), "pair3": pair(3, 1), "pair6": pair(6, 1), "over": pair(1, 2), "over2": pair(2, 1.5),
	} {
		rng := rand.New(rand.NewPCG(1, 2))
		in6, in60, n := 0, 0, 40
		var u6, e6, u60, e60 float64
		xs := grid(f, 0)
		t6, t60 := width(f, 6), width(f, 60)
		hits := map[string]int{}
		for range n {
			var pts []Point
			for i, x := range xs {
				y := f(x) + noise*rng.NormFloat64()
				pts = append(pts, Point{Hz: x, DB: math.Round(y/0.1) * 0.1, UdB: 0.1 / math.Sqrt(12), Index: i})
			}
			c, err := Fit(context.Background(), pts, Options{})
			if err != nil {
				t.Fatal(err)
			}
			r := c.Measure()
			b := r.Bandwidth(6)
			if math.Abs(b.Value-t6) < 1.96*b.U {
				in6++
			}
			u6 += b.U / float64(n)
			e6 += (b.Value - t6) * (b.Value - t6) / float64(n)
			b = r.Bandwidth(60)
			if math.Abs(b.Value-t60) < 1.96*b.U {
				in60++
			}
			u60 += b.U / float64(n)
			e60 += (b.Value - t60) * (b.Value - t60) / float64(n)
			if r.Ripple.Depth > 0 {
				hits["ripple"]++
			}
			if len(r.Notches) > 0 {
				hits["notch"]++
			}
		}
		t.Logf("%.1f %-8s B6 %.3f in %d u %.4f rms %.4f; B60 %.2f in %d u %.3f rms %.3f %v", noise, name, t6, in6, u6, math.Sqrt(e6), t60, in60, u60, math.Sqrt(e60), hits)
	}
	}
}
