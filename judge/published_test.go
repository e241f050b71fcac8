package judge

import (
	"math"
	"testing"

	"setwright/quantity"
)

// Student's data of additional hours of sleep (Student, Biometrika 6 (1908)
// 1-25, after Cushny and Peebles 1905), the common example of both t tests. Data
// and results from memory; results agree with SciPy 1.10.1.
var (
	sleep1 = []float64{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0}
	sleep2 = []float64{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4}
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %v, want %v within %v", what, got, want, tol)
	}
}

func TestWelchOnStudentsSleepData(t *testing.T) {
	v := Compare(plain("1", sleep1...), plain("2", sleep2...), Criterion{Unit: "h", Better: Larger, Matters: 4}, Options{})
	near(t, "difference", v.Difference.Estimate(), 1.58, 1e-12)
	near(t, "standard uncertainty", v.Difference.U(), 0.849091017, 1e-9)
	near(t, "degrees of freedom", v.DoF, 17.776, 5e-4)
	near(t, "p", v.P, 0.07939, 5e-6)
	near(t, "interval from", v.CI95[0], -0.2054832, 5e-8)
	near(t, "interval to", v.CI95[1], 3.3654832, 5e-8)
	// two one-sided tests, computed with SciPy 1.10.1 from the formulas
	near(t, "p against −4", v.TOST.Lower, 1.9004056834e-6, 1e-13)
	near(t, "p against +4", v.TOST.Upper, 0.005361624103, 1e-11)
	if v.Word != NoDifference {
		t.Errorf("word %q: with 4 h as what matters it is %q", v.Word, NoDifference)
	}
}

func TestPairedTOnStudentsSleepData(t *testing.T) {
	a, b := plain("1", sleep1...), plain("2", sleep2...)
	for i := range a.Observations {
		patient := string(rune('A' + i))
		a.Observations[i].Pair, b.Observations[i].Pair = patient, patient
	}
	v := Compare(a, b, Criterion{Unit: "h", Better: Larger, Matters: 0.5}, Options{})
	if !v.Paired || v.Pairs != 10 {
		t.Fatalf("paired %v with %d pairs, want 10", v.Paired, v.Pairs)
	}
	near(t, "t", v.Difference.Estimate()/v.Difference.U(), 4.0621, 5e-5)
	near(t, "degrees of freedom", v.DoF, 9, 1e-9)
	near(t, "p", v.P, 0.002833, 5e-7)
	near(t, "interval from", v.CI95[0], 0.7001142, 5e-8)
	near(t, "interval to", v.CI95[1], 2.4598858, 5e-8)
	if v.Word != Better {
		t.Errorf("word %q: the interval lies beyond 0.5 h", v.Word)
	}
}

// The four hypotheses of the usual worked example of Holm's procedure (from
// memory): at 0.05 the first and the fourth are refused, the others are not.
func TestHolmWorkedExample(t *testing.T) {
	got := Holm([]float64{0.01, 0.04, 0.03, 0.005})
	for i, want := range []float64{0.03, 0.06, 0.06, 0.02} {
		near(t, "adjusted p", got[i], want, 1e-12)
	}
}

// Numbers a group for 80 % chance at two-sided 5 % in the common tables (from
// memory: 17, 26, 64, 394 for d = 1, 0.8, 0.5, 0.2), chances with SciPy 1.10.1.
func TestPowerTables(t *testing.T) {
	for _, row := range []struct {
		d     float64
		n     int
		power float64
	}{
		{1, 17, 0.80703671514722}, {1, 16, 0.7813977924664227},
		{0.8, 26, 0.8074866157939418}, {0.8, 25, 0.7914512908175744},
		{0.5, 64, 0.8014595579287103}, {0.5, 63, 0.7951683381304628},
		{0.2, 394, 0.8005931284024354}, {0.2, 393, 0.799594241161915},
		{2, 6, 0.8764177714162157}, {3, 4, 0.9389357457868631},
	} {
		near(t, "power", Power(row.d, row.n), row.power, 1e-7)
	}
}

// The averaged t distribution that plans rest on gives the power of the
// noncentral t to 1 %.
func TestOutlookAgreesWithNoncentralT(t *testing.T) {
	for _, row := range []struct {
		d float64
		n int
	}{{1, 17}, {0.8, 26}, {2, 6}, {1.5, 10}} {
		o := outlook{truth: row.d, u: math.Sqrt(2 / float64(row.n)), dof: float64(2*row.n - 2)}
		near(t, "chance", o.anyWord(), Power(row.d, row.n), 0.01)
	}
}

// Grubbs' statistic of eight readings from a mass spectrometer, 2.4687 (NIST
// handbook of statistical methods, 1.3.5.17.1, from memory).
func TestGrubbsExample(t *testing.T) {
	x := []float64{199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57}
	left := map[int]bool{}
	for i := range x {
		left[i] = true
	}
	i, r := farthest(x, left, 0)
	near(t, "G", r, 2.4687, 1e-4)
	if got := extremes(x, 0); i != 7 || !got[7] || len(got) != 1 {
		t.Errorf("farthest is %d, apart are %v: want the eighth alone", i, got)
	}
}

// Rosner's critical values for 54 readings at 0.05 as printed, cut to three
// decimals, in the NIST handbook (1.3.5.17.3, from memory).
func TestRosnerCriticalValues(t *testing.T) {
	for i, want := range []float64{3.158, 3.151, 3.143, 3.136, 3.128, 3.120, 3.111, 3.103, 3.094, 3.085} {
		near(t, "critical value", rosner(54, i+1), want+0.0005, 0.0005)
	}
}

// The smallest p of the rank-sum test for complete separation, 2/C(n, n_a), and
// a mixed case; SciPy 1.10.1, exact method.
func TestRankSum(t *testing.T) {
	for _, row := range []struct {
		a, b []float64
		p    float64
	}{
		{[]float64{1, 2, 3}, []float64{11, 12, 13}, 0.1},
		{[]float64{1, 2, 3, 4}, []float64{11, 12, 13, 14}, 0.02857142857142857},
		{[]float64{1, 2, 3, 4, 5}, []float64{11, 12, 13, 14}, 0.015873015873015872},
		{[]float64{0.5, 1.5, 2.5, 3.5}, []float64{1.1, 2.2, 3.3, 4.4, 9.9}, 0.4126984126984127},
	} {
		near(t, "p", RankSum(row.a, row.b).P, row.p, 1e-12)
	}
}

// Three readings a side can't show anything by ranks, however far apart.
func TestRankSumSaysHowManyAreNeeded(t *testing.T) {
	got := RankSum([]float64{10, 11, 12}, []float64{20, 21, 22}).Sentence
	if want := "no difference shown; at least 4 readings on each side are needed"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Exact 95 % limits of an expected count (Garwood 1936; common tables, from
// memory: 3.689 for none, 4.795 to 18.39 for ten; more digits by SciPy 1.10.1).
func TestPoissonLimits(t *testing.T) {
	for _, row := range []struct{ k, lo, hi float64 }{
		{0, 0, 3.6888794541139354}, {1, 0.025317807984289876, 5.571643390938898},
		{5, 1.6234863901184207, 11.66833207932267}, {10, 4.7953886961324335, 18.39035604201778},
	} {
		lo, hi := poissonLimits(row.k, 0.025)
		near(t, "lower", lo, row.lo, 1e-8)
		near(t, "upper", hi, row.hi, 1e-8)
	}
}

// The conditional test by the binomial of SciPy 1.10.1, smaller tail doubled.
func TestConditionalTestOfCounts(t *testing.T) {
	for _, row := range []struct{ ka, ea, kb, eb, p float64 }{
		{3, 4, 12, 4, 0.03515625}, {0, 3, 6, 3, 0.03125}, {5, 2, 5, 3, 0.7337934848000002},
	} {
		near(t, "p", conditionalP(total{row.ka, row.ea}, total{row.kb, row.eb}), row.p, 1e-10)
	}
}

// Fieller's limits are the ratios at which b − r·a is just refused.
func TestRatioIntervalIsFiellers(t *testing.T) {
	shared := counterSource("counter-1")
	a := quantity.New(20, quantity.Contribution{Source: quantity.Source{ID: "a"}, C: 1.5}, quantity.Contribution{Source: shared, C: 2})
	b := quantity.New(13, quantity.Contribution{Source: quantity.Source{ID: "b"}, C: 1.1}, quantity.Contribution{Source: shared, C: 1.3})
	lo, hi, ok := RatioInterval(a, b, 0.95, 8)
	if !ok || !(lo < 0.65 && 0.65 < hi) {
		t.Fatalf("interval %v to %v, ok %v", lo, hi, ok)
	}
	for _, r := range []float64{lo, hi} {
		d := b.Sub(a.Scale(r))
		near(t, "t at the limit", math.Abs(d.Estimate())/d.U(), 2.306004135, 1e-8) // t(0.975; 8), common tables
	}
	if _, _, ok := RatioInterval(a.Shift(-19), b, 0.95, 8); ok {
		t.Error("a denominator that may be zero gives an open ratio")
	}
}
