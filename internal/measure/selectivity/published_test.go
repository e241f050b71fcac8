package selectivity

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"setwright/internal/measure/selectivity/passband"
)

// table reads a file of testdata without its comments and heading.
func table(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment, r.FieldsPerRecord = '#', -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// The models that stand for the truth are those of the printed table.
func TestModelsAgreeWithTheResonanceTable(t *testing.T) {
	for _, row := range table(t, "resonance.csv") {
		x := number(t, row[0])
		for col, f := range map[int]func(float64) float64{
			2: circuits(1), 4: pairs(1, 0.5), 5: pairs(1, 1), 6: pairs(1, 1.5), 7: pairs(1, 2),
		} {
			if got, want := f(x), number(t, row[col]); math.Abs(got-want) > 0.00051 {
				t.Errorf("x %g column %d: %.4f dB, printed %.3f", x, col, got, want)
			}
		}
	}
}

// shapeOf measures a model without errors on a fine grid that reaches so far
// down.
func shapeOf(f func(float64) float64, deepest float64) passband.Shape {
	far := width(f, deepest) / 2
	var x, y []float64
	const n = 6000
	for i := -n; i <= n; i++ {
		at := math.Sinh(float64(i)/n*math.Asinh(far*20)) / 20
		x, y = append(x, at), append(y, f(at))
	}
	return passband.ShapeOf(x, y)
}

// xKHz is one x in kHz at 455 kHz with a loaded Q of 80.
const xKHz = 455.0 / (2 * 80)

// Every row of the published widths, ratios and shares comes out of the
// program's own edges and integration.
func TestWidthsRatiosAndSharesOfThePublishedRows(t *testing.T) {
	for _, row := range table(t, "widths.csv") {
		n, want, tol := number(t, row[1]), number(t, row[4]), number(t, row[5])
		one, f := circuits(1), circuits(n)
		if row[2] != "" {
			one, f = pairs(1, number(t, row[2])), pairs(n, number(t, row[2]))
		}
		got := math.NaN()
		switch what := row[0]; {
		case strings.HasPrefix(what, "shape factor"):
			s := shapeOf(f, 66)
			got = s.Edge(60).Width() / s.Edge(6).Width()
		case strings.HasPrefix(what, "B3 of"):
			got = shapeOf(f, 66).Edge(3).Width() / shapeOf(one, 66).Edge(3).Width()
		case strings.Contains(what, "B3 kHz"):
			got = shapeOf(f, 66).Edge(3).Width() * xKHz
		case strings.Contains(what, "B6 kHz"):
			got = shapeOf(f, 66).Edge(6).Width() * xKHz
		case strings.Contains(what, "B60 kHz"):
			got = shapeOf(f, 66).Edge(60).Width() * xKHz
		case strings.Contains(what, "dip"):
			s := shapeOf(f, 66)
			got = s.Top - f(0)
		case strings.HasPrefix(what, "noise bandwidth"):
			s := shapeOf(f, 80)
			got = s.Noise.Hz / width(f, 10*math.Log10(2))
		case strings.HasPrefix(what, "share"):
			got = shapeOf(f, number(t, row[3])).Noise.Captured / shapeOf(f, 100).Noise.Hz
		}
		if !(math.Abs(got-want) <= tol) {
			t.Errorf("%s, %g: %.4f, published %g ± %g", row[0], n, got, want, tol)
		}
	}
}

// polynomial is |1 + Σ cₖ(jx)ᵏ|² in dB below its value at 0.
func polynomial(c ...float64) func(float64) float64 {
	return func(x float64) float64 {
		sum, power := complex(0, 0), complex(1, 0)
		for _, k := range c {
			sum += complex(k, 0) * power
			power *= complex(0, x)
		}
		return -20 * math.Log10(math.Hypot(real(sum), imag(sum))/c[0])
	}
}

// bessel is the low-pass of the reverse Bessel polynomials.
func bessel(order int) func(float64) float64 {
	return polynomial(map[int][]float64{
		2: {3, 3, 1}, 3: {15, 15, 6, 1}, 4: {105, 105, 45, 10, 1},
		5: {945, 945, 420, 105, 15, 1}, 6: {10395, 10395, 4725, 1260, 210, 21, 1},
	}[order]...)
}

// chebyshev has ripple dB of ripple up to x = 1.
func chebyshev(order int, ripple float64) func(float64) float64 {
	e2 := math.Pow(10, ripple/10) - 1
	return func(x float64) float64 {
		x = math.Abs(x)
		c := math.Cosh(float64(order) * math.Acosh(math.Max(x, 1)))
		if x < 1 {
			c = math.Cos(float64(order) * math.Acos(x))
		}
		return -10 * math.Log10(1+e2*c*c)
	}
}

// Noise bandwidths of the published filters. Low-pass figures are for one
// side, which the ratio does not notice.
func TestNoiseBandwidthsOfThePublishedFilters(t *testing.T) {
	for _, row := range table(t, "noise-bandwidth.csv") {
		kind, reference, want := row[0], row[3], number(t, row[2])
		order, _ := strconv.Atoi(row[1])
		n := float64(order)
		var f func(float64) float64
		switch {
		case strings.HasPrefix(kind, "butterworth"):
			f = func(x float64) float64 { return -10 * math.Log10(1+math.Pow(x*x, n)) }
		case strings.HasPrefix(kind, "n equal"), strings.HasPrefix(kind, "single tuned"):
			f = circuits(n)
		case strings.HasPrefix(kind, "gaussian"):
			f = func(x float64) float64 { return -4 * x * x }
		case strings.HasPrefix(kind, "bessel"):
			f = bessel(order)
		case strings.HasPrefix(kind, "chebyshev"):
			f = chebyshev(order, number(t, strings.Fields(kind)[1]))
		default:
			t.Fatalf("row %v", row)
		}
		s := shapeOf(f, 80)
		by := math.NaN()
		switch {
		case strings.Contains(reference, "B6dB"): // half the voltage: 6.0206 dB
			by = width(f, 20*math.Log10(2))
		case strings.HasPrefix(reference, "ripple"):
			by = 2
		case strings.Contains(reference, "3dB"): // half the power: 3.0103 dB
			by = width(f, 10*math.Log10(2))
		}
		if got := s.Noise.Hz / by; math.Abs(got/want-1) > 0.0005 {
			t.Errorf("%s order %d: %.5f, published %.5f", kind, order, got, want)
		}
	}
}

// The trapezoid rule in linear power: a step of half the half-width errs by
// 7e-6, one equal to it by 0.4 %, for a single circuit (checked by computation).
func TestStepOfTheTrapezoidRule(t *testing.T) {
	for _, row := range []struct{ step, want, tol float64 }{{0.5, 7e-6, 2e-6}, {1, 0.004, 0.0005}} {
		var x, y []float64
		for at := -4000.0; at <= 4000; at += row.step {
			x, y = append(x, at), append(y, circuits(1)(at))
		}
		if got := passband.ShapeOf(x, y).Noise.Hz/math.Pi - 1; math.Abs(math.Abs(got)-row.want) > row.tol {
			t.Errorf("step %g: off by %.2g, expected %.2g", row.step, got, row.want)
		}
	}
}
