package quantity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestAValueMinusItselfIsExactlyZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawValue(t, "a")
		d := a.Sub(a)
		if d.Estimate() != 0 || d.U() != 0 || len(d.Contributions()) != 0 {
			t.Fatalf("a − a = %v ± %v", d.Estimate(), d.U())
		}
	})
}

func TestLinearity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawValue(t, "a"), drawValue(t, "b")
		k := rapid.Float64Range(-100, 100).Draw(t, "k")
		left, right := a.Add(b).Scale(k), a.Scale(k).Add(b.Scale(k))
		if !near(left, right, 100*size(a, b)) {
			t.Fatalf("k(a+b) = %v, ka + kb = %v", left, right)
		}
	})
}

func TestSharedSourcesAddInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawValue(t, "a"), drawValue(t, "b"), drawValue(t, "c")
		scale := size(a, b, c)
		left, right := a.Add(b).Add(c), a.Add(b.Add(c))
		if !near(left, right, scale) || !near(left, Sum(c, b, a), scale) {
			t.Fatalf("(a+b)+c = %v, a+(b+c) = %v", left, right)
		}
		if !near(Mean(a, b, c).Scale(3), left, scale) {
			t.Fatal("three times the mean is not the sum")
		}
	})
}

func TestInversesReturnTheValueWithItsSources(t *testing.T) {
	inverses := map[string]func(a, b Value) Value{
		"exp(log a)":      func(a, _ Value) Value { return a.Log().Exp() },
		"a·b/b":           func(a, b Value) Value { return a.Mul(b).Div(b) },
		"sqrt(a)²":        func(a, _ Value) Value { return a.Sqrt().Pow(2) },
		"(a³)^(1/3)":      func(a, _ Value) Value { return a.Pow(3).Pow(1.0 / 3) },
		"dB power":        func(a, _ Value) Value { return a.PowerRatioDB().PowerRatio() },
		"dB voltage":      func(a, _ Value) Value { return a.VoltageRatioDB().VoltageRatio() },
		"10^lg a":         func(a, _ Value) Value { return a.Log10().Scale(math.Ln10).Exp() },
		"−(−a)":           func(a, _ Value) Value { return a.Neg().Neg() },
		"|−a|":            func(a, _ Value) Value { return a.Neg().Abs() },
		"1/(1/a)":         func(a, _ Value) Value { return Exact(1).Div(Exact(1).Div(a)) },
		"a with shift":    func(a, _ Value) Value { return a.Shift(3).Shift(-3) },
		"weights 2 and 0": func(a, b Value) Value { return WeightedMean([]Value{a, b}, []float64{2, 0}) },
	}
	for name, f := range inverses {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a, b := drawPositive(t, "a"), drawPositive(t, "b")
				relative := 1 + math.Max(a.U()/a.Estimate(), b.U()/b.Estimate())
				got := f(a, b)
				if !near(got, a, 1e3*relative*size(a)) {
					t.Fatalf("got %v, want %v", got, a)
				}
			})
		})
	}
}

// Derivatives are checked against central differences of the function itself,
// with one standard deviation of a small source for the step.
func TestContributionsAreWhatTheFunctionDoes(t *testing.T) {
	functions := map[string]func(Value) Value{
		"log": Value.Log, "log10": Value.Log10, "exp": func(v Value) Value { return v.Scale(1e-5).Exp() },
		"sqrt": Value.Sqrt, "pow": func(v Value) Value { return v.Pow(-1.7) },
		"power dB": Value.PowerRatioDB, "voltage dB": Value.VoltageRatioDB,
		"power ratio":   func(v Value) Value { return v.Scale(1e-4).PowerRatio() },
		"voltage ratio": func(v Value) Value { return v.Scale(1e-4).VoltageRatio() },
		"divide":        func(v Value) Value { return Exact(5).Div(v) },
	}
	for name, f := range functions {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				x := rapid.Float64Range(0.1, 1e5).Draw(t, "x")
				h := x * 1e-5
				got := f(New(x, Contribution{Source: benchSources[0], C: h})).U()
				up, down := f(Exact(x+h)).Estimate(), f(Exact(x-h)).Estimate()
				want := math.Abs(up-down) / 2
				if math.Abs(got-want) > 1e-7*want+1e-10*math.Abs(up) {
					t.Fatalf("contribution %g, the function moves by %g", got, want)
				}
			})
		})
	}
}

func TestOutsideTheirDomainResultsAreUndefined(t *testing.T) {
	zero := New(0, Contribution{Source: benchSources[0], C: 1})
	minus := New(-2, Contribution{Source: benchSources[0], C: 1})
	for name, v := range map[string]Value{
		"log 0": Exact(0).Log(), "log −2": minus.Log(), "log10 0": zero.Log10(), "dB of 0": Exact(0).PowerRatioDB(),
		"dB of −2": minus.VoltageRatioDB(), "1/0": Exact(1).Div(Exact(0)), "0/0": zero.Div(zero), "√−2": minus.Sqrt(),
		"√(0±1)": zero.Sqrt(), "0^−1": Exact(0).Pow(-1), "(0±1)^½": zero.Pow(0.5), "(−2)^½": minus.Pow(0.5),
		"e^1000": Exact(1000).Exp(), "mean of none": Mean(), "weights 1 and −1": WeightedMean([]Value{minus, zero}, []float64{1, -1}),
		"goes on": Exact(0).Log().Add(Exact(1)).Scale(0), "overflow": Exact(1e308).Mul(Exact(1e10)),
	} {
		if v.Defined() || !math.IsNaN(v.Estimate()) || !math.IsNaN(v.U()) {
			t.Errorf("%s = %v ± %v, want undefined", name, v.Estimate(), v.U())
		}
	}
}

func TestEdgesThatAreDefined(t *testing.T) {
	zero := New(0, Contribution{Source: benchSources[0], C: 1})
	minus := New(-2, Contribution{Source: benchSources[0], C: 1})
	for _, row := range []struct {
		name           string
		v              Value
		estimate, want float64
	}{
		{"√0 exact", Exact(0).Sqrt(), 0, 0},
		{"|0 ± 1|", zero.Abs(), 0, 1},
		{"(0±1)^0", zero.Pow(0), 1, 0},
		{"(0±1)^1", zero.Pow(1), 0, 1},
		{"(−2±1)³", minus.Pow(3), -8, 12},
		{"(−2±1)·(−2±1)", minus.Mul(minus), 4, 4},
		{"sum of none", Sum(), 0, 0},
		{"a/a", minus.Div(minus), 1, 0},
	} {
		if row.v.Estimate() != row.estimate || row.v.U() != row.want {
			t.Errorf("%s = %v ± %v, want %v ± %v", row.name, row.v.Estimate(), row.v.U(), row.estimate, row.want)
		}
	}
	if n := Exact(0).Neg(); math.Signbit(n.Estimate()) {
		t.Error("−0 has a sign")
	}
}
