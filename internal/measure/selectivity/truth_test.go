package selectivity

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// The models of superheterodyne practice that stand for the truth: response in
// dB against x = 2QΔf/f0 (derived from circuit theory; the rows in testdata are
// checked against them in published_test.go).

// circuits are n equal single tuned circuits.
func circuits(n float64) func(x float64) float64 {
	return func(x float64) float64 { return -10 * n * math.Log10(1+x*x) }
}

// pairs are n equal pairs coupled with a = kQ.
func pairs(n, a float64) func(x float64) float64 {
	return func(x float64) float64 {
		u := 1 + a*a - x*x
		return -10 * n * math.Log10((u*u+4*x*x)/((1+a*a)*(1+a*a)))
	}
}

// width is the distance of the outermost points so far below the maximum.
func width(f func(float64) float64, down float64) float64 {
	top := math.Inf(-1)
	for x := 0.0; x < 20; x += 1e-3 {
		top = math.Max(top, f(x))
	}
	lo, hi := 0.0, 1e7
	for range 200 {
		if m := (lo + hi) / 2; f(m) > top-down {
			lo = m
		} else {
			hi = m
		}
	}
	return 2 * lo
}

// steps are places at which a careful worker reads a curve: five on either side
// of the top, six down each skirt, and the middle again at start and end.
func steps(f func(float64) float64, deepest float64) []float64 {
	half, far := width(f, 6)/2, width(f, deepest)/2
	xs := []float64{0}
	for k := 1; k <= 5; k++ {
		x := half * 1.25 * float64(k) / 5
		xs = append(xs, x, -x)
	}
	for k := 1; k <= 6; k++ {
		x := half * 1.25 * math.Pow(far/half/1.25, float64(k)/6)
		xs = append(xs, x, -x)
	}
	return append(xs, 0)
}

// bench simulates a run with constant output: hertz per x, middle of the curve
// in hertz, standard deviation of a reading, generator in steps of 0.1 dB.
type bench struct {
	f      func(float64) float64
	perX   float64
	middle float64
	noise  float64
	seed   uint64
}

func (b bench) constantOutput(xs []float64) run.Series {
	rng := rand.New(rand.NewPCG(b.seed, 7))
	hz, level := make([]float64, len(xs)), make([]float64, len(xs))
	for i, x := range xs {
		hz[i] = b.middle + math.Round(x*b.perX)
		y := b.f((hz[i] - b.middle) / b.perX)
		level[i] = math.Round((-80-y+b.noise*rng.NormFloat64())*10) / 10
	}
	return run.Series{Columns: []run.Column{
		{Role: "frequency", Unit: "Hz", Values: hz, Resolution: 1},
		{Role: "input", Unit: "dBm", Values: level, Resolution: 0.1},
	}}
}

func rawOf(s run.Series, options map[string]string) measure.Raw {
	return measure.Raw{RunID: "run-1", Series: s, Options: options}
}

func analyse(t *testing.T, raw measure.Raw) measure.Analysis {
	t.Helper()
	a, err := Measurement{}.Analyse(context.Background(), raw, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func find(t *testing.T, a measure.Analysis, id, down string) run.Figure {
	t.Helper()
	for _, f := range a.Figures {
		if f.ID == id && (down == "" || f.Conditions["down_db"] == down) {
			return f
		}
	}
	t.Fatalf("no figure %s; notes %v", id, a.Notes)
	return run.Figure{}
}
