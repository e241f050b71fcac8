package quantity

import (
	"fmt"
	"math"
	"testing"
)

// Worked examples of JCGM 100:2008 (GUM). Inputs and results are recalled from
// memory; see testdata/SOURCES.md. Tolerances are half a unit of the last digit
// printed there.

// endGauge is the GUM's example H.1, calibration of an end gauge of 50 mm, in nm.
func endGauge() Value {
	part := func(id, name string, c, dof float64) Contribution {
		return Contribution{Source{ID: id, Name: name, DoF: dof}, c}
	}
	return New(50_000_838,
		part("reference/standard/length", "length of the standard", 25, 18),
		part("run/h1/repeat", "repeated observations", 5.8, 24),
		part("instrument/comparator/random", "random effects of the comparator", 3.9, 5),
		part("instrument/comparator/systematic", "systematic effects of the comparator", 6.7, 8),
		part("run/h1/expansion", "difference of expansion coefficients", 2.9, 50),
		part("run/h1/temperature", "difference of temperatures", 16.6, 2),
	)
}

func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %v, want %v ± %v", what, got, want, tol)
	}
}

func TestEndGauge(t *testing.T) {
	l := endGauge()
	within(t, "u of the difference d", New(0, l.Contributions()[0], l.Contributions()[1], l.Contributions()[4]).U(), 9.7, 0.05)
	within(t, "u(l)", l.U(), 31.7, 0.05)
	within(t, "effective dof", math.Floor(l.DoF()), 16, 0)
	within(t, "t99(16)", Coverage(0.99, l.DoF()), 2.92, 0.005)
	// The GUM multiplies the rounded u of 32 nm; half a nanometre in u is 1.5 in U.
	within(t, "U99 of the rounded u", Coverage(0.99, l.DoF())*math.Round(l.U()), 93, 0.5)
	within(t, "U99", l.Expanded(0.99), 93, 1.5)
	if first := l.Budget()[0]; first.Name != "length of the standard" || math.Abs(first.Share-625/(31.7*31.7)) > 0.01 {
		t.Errorf("largest contribution: %+v", first)
	}
}

// GUM G.4.1, example: three factors of a product with relative standard
// uncertainties of 0.25, 0.57 and 0.82 % from 10, 5 and 15 observations.
// From memory: u = 1.03 %, effective dof 19.0, U95 = 2.2 %.
func TestProductOfThree(t *testing.T) {
	factor := func(id string, relative, n float64) Value {
		return New(4, Contribution{Source{ID: id, DoF: n - 1}, 4 * relative / 100})
	}
	y := factor("x1", 0.25, 10).Mul(factor("x2", 0.57, 5)).Mul(factor("x3", 0.82, 15))
	percent := 100 / y.Estimate()
	within(t, "u", y.U()*percent, 1.03, 0.005)
	within(t, "dof", y.DoF(), 19.0, 0.05)
	within(t, "U95", y.Expanded(0.95)*percent, 2.2, 0.05)
}

// GUM H.2: resistance, reactance and impedance from voltage, current and phase
// measured together. From memory: V = 4.9990 V, I = 19.6610 mA, φ = 1.04446
// rad, u = 0.0032 V, 0.0095 mA, 0.00075 rad, correlations r(V,I) = −0.36,
// r(V,φ) = 0.86, r(I,φ) = −0.65; R = 127.732 Ω, u 0.071; X = 219.847 Ω, u 0.295;
// Z = 254.260 Ω, u 0.236. Correlated inputs are written with shared sources by
// the Cholesky factor of their correlation matrix.
func TestImpedanceFromCorrelatedInputs(t *testing.T) {
	s := [3]Source{{ID: "1"}, {ID: "2"}, {ID: "3"}}
	const rVI, rVP, rIP = -0.36, 0.86, -0.65
	l22 := math.Sqrt(1 - rVI*rVI)
	l32 := (rIP - rVI*rVP) / l22
	l33 := math.Sqrt(1 - rVP*rVP - l32*l32)
	v := New(4.9990, Contribution{s[0], 0.0032})
	i := New(19.6610e-3, Contribution{s[0], 0.0095e-3 * rVI}, Contribution{s[1], 0.0095e-3 * l22})
	phi := New(1.04446, Contribution{s[0], 0.00075 * rVP}, Contribution{s[1], 0.00075 * l32}, Contribution{s[2], 0.00075 * l33})
	cos := Combine(math.Cos(phi.Estimate()), []Value{phi}, []float64{-math.Sin(phi.Estimate())})
	sin := Combine(math.Sin(phi.Estimate()), []Value{phi}, []float64{math.Cos(phi.Estimate())})
	z := v.Div(i)
	r, x := z.Mul(cos), z.Mul(sin)
	within(t, "R", r.Estimate(), 127.732, 0.003)
	within(t, "u(R)", r.U(), 0.071, 0.002)
	within(t, "X", x.Estimate(), 219.847, 0.003)
	within(t, "u(X)", x.U(), 0.295, 0.003)
	within(t, "Z", z.Estimate(), 254.260, 0.003)
	within(t, "u(Z)", z.U(), 0.236, 0.002)
	same := r.Pow(2).Add(x.Pow(2)).Sqrt() // Z² = R² + X², correlation and all
	within(t, "u(Z) by way of R and X", same.U(), z.U(), 1e-9)
}

// Two-sided points of Student's t from the GUM's table G.2, from memory.
func TestCoverageFactors(t *testing.T) {
	inf := math.Inf(1)
	for _, row := range []struct{ p, dof, want, tol float64 }{
		{0.95, 1, 12.71, 0.005}, {0.95, 2, 4.30, 0.005}, {0.95, 5, 2.57, 0.005}, {0.95, 10, 2.23, 0.005},
		{0.95, 50, 2.01, 0.005}, {0.95, inf, 1.960, 0.0005}, {0.99, 3, 5.84, 0.005}, {0.99, 16, 2.92, 0.005},
		{0.6827, inf, 1.000, 0.0005}, {0.9545, 20, 2.13, 0.005}, {0.95, 5.99, 2.57, 0.005}, {0.95, 1e7, 1.960, 0.0005},
	} {
		within(t, fmt.Sprintf("t%v(%v)", row.p, row.dof), Coverage(row.p, row.dof), row.want, row.tol)
	}
	for _, bad := range [][2]float64{{0, 5}, {1, 5}, {-1, 5}, {0.95, 0}, {math.NaN(), 5}, {0.95, math.NaN()}} {
		if k := Coverage(bad[0], bad[1]); !math.IsNaN(k) {
			t.Errorf("Coverage(%v) = %v", bad, k)
		}
	}
}

func TestAnExactValueHasNoExpandedUncertainty(t *testing.T) {
	lo, hi := Exact(3).Interval(0.95)
	if lo != 3 || hi != 3 || !math.IsInf(Exact(3).DoF(), 1) {
		t.Errorf("%v to %v, dof %v", lo, hi, Exact(3).DoF())
	}
	if v := New(1, Contribution{Source{ID: "x", DoF: 49}, 2}); math.Abs(v.DoF()-49) > 1e-9 || Coverage(0.95, v.DoF()) != Coverage(0.95, 49) {
		t.Errorf("one source of 49: %v", v.DoF())
	}
}

func TestWhatADifferenceShares(t *testing.T) {
	base, before, after := Source{ID: "b", Name: "time base"}, Source{ID: "n1"}, Source{ID: "n2"}
	a := New(1500, Contribution{base, 40}, Contribution{before, 3})
	b := New(1200, Contribution{base, 40}, Contribution{after, 4})
	effects := Shared(a, b)
	if e := effects[0]; e.ID != "b" || e.A != 40 || e.B != 40 || e.Result != 0 || !e.Common() || !e.Cancelled() {
		t.Errorf("time base: %+v", e)
	}
	if e := effects[1]; e.ID != "n2" || e.A != 0 || e.B != 4 || e.Result != -4 || e.Common() || e.Cancelled() {
		t.Errorf("noise of the second run: %+v", e)
	}
	if len(effects) != 3 {
		t.Errorf("%d sources, want 3", len(effects))
	}
}
