package stability

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

var adevAllKinds = []Kind{KindAllan, KindOverlappingAllan, KindModifiedAllan, KindTime, KindHadamard,
	KindOverlappingHadamard, KindTotal, KindModifiedTotal, KindTimeTotal, KindHadamardTotal}

func adevValue(t testing.TB, k Kind, p Phase, m int) float64 {
	t.Helper()
	d, err := Deviations(k, p, m)
	if err != nil {
		t.Fatal(err)
	}
	return d[0].Value
}

// A set that drifts along a straight line and does nothing else.
func TestPureDrift(t *testing.T) {
	const slope = 3.7e-9 // per second
	x := make([]float64, 400)
	for i := range x {
		x[i] = slope * float64(i) * float64(i) / 2
	}
	p, _ := NewPhase(x, 1)
	for _, m := range []int{1, 7, 40} {
		for _, k := range []Kind{KindAllan, KindOverlappingAllan, KindModifiedAllan} {
			adevWithin(t, k.String(), adevValue(t, k, p, m), slope*float64(m)/math.Sqrt2, 1e-9)
		}
		for _, k := range []Kind{KindHadamard, KindOverlappingHadamard} {
			if v := adevValue(t, k, p, m); v > 1e-12*slope*float64(m)*400 {
				t.Errorf("%v m=%d: %g, expected nothing but rounding", k, m, v)
			}
		}
	}
}

func TestConstantOffsetGivesNothing(t *testing.T) {
	y := make([]float64, 200)
	for i := range y {
		y[i] = 455e3
	}
	p := adevPhase(t, y, 1)
	for _, k := range adevAllKinds {
		d, err := Deviations(k, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range d {
			if d.Value != 0 || d.Hi != 0 || d.NoiseBy != NoiseAssumed {
				t.Errorf("%v m=%d: %+v", k, d.M, d)
			}
		}
	}
}

// Sinusoidal FM: ADEV = A sin^2(pi f tau)/(pi f tau), exact for averages over tau0.
func TestSinusoidalModulation(t *testing.T) {
	const f = 0.013
	x := make([]float64, 200_001)
	for i := range x {
		x[i] = -math.Cos(2*math.Pi*f*float64(i)) / (2 * math.Pi * f)
	}
	p, _ := NewPhase(x, 1)
	for m, want := range map[int]float64{10: 0.386199, 20: 0.650571, 38: 0.644123} {
		adevWithin(t, "sinusoidal FM", adevValue(t, KindOverlappingAllan, p, m), want, 1e-4)
	}
}

// White noise has known expectations; 30 records bring each mean near them.
func TestExpectationsInWhiteNoise(t *testing.T) {
	const n, m, records = 4000, 10, 30
	var fm, pmA, pmM, pmT float64
	for seed := range uint64(records) {
		w := adevGaussian(n, seed)
		y := adevPhase(t, w, 1)
		x, _ := NewPhase(w, 1)
		fm += math.Pow(adevValue(t, KindOverlappingAllan, y, m), 2) / records
		pmA += math.Pow(adevValue(t, KindOverlappingAllan, x, m), 2) / records
		pmM += math.Pow(adevValue(t, KindModifiedAllan, x, m), 2) / records
		pmT += math.Pow(adevValue(t, KindTime, x, m), 2) / records
	}
	adevWithin(t, "white FM, AVAR", fm, 1.0/m, 0.05)
	adevWithin(t, "white PM, AVAR", pmA, 3.0/m/m, 0.05)
	adevWithin(t, "white PM, MVAR", pmM, 3.0/m/m/m, 0.05)
	adevWithin(t, "white PM, TVAR", pmT, 1.0/m, 0.05)
}

// TDEV of a list taken as phase is OHDEV of the list taken as frequency.
func TestTimeDeviationIsHadamardOfTheSameList(t *testing.T) {
	y := adevLCG1000()
	x, _ := NewPhase(y, 1)
	p := adevPhase(t, y, 1)
	for m, published := range map[int]float64{1: 2.943883e-01, 10: 9.581083e-02} {
		tdev := adevValue(t, KindTime, x, m)
		adevWithin(t, "TDEV of the list", tdev, published, 1e-6)
		adevWithin(t, "TDEV against OHDEV", tdev, adevValue(t, KindOverlappingHadamard, p, m), 1e-9)
	}
}

func adevDraw(t *rapid.T, least, most int) []float64 {
	return rapid.SliceOfN(rapid.Float64Range(-1, 1), least, most).Draw(t, "y")
}

// Scaling the phase scales every deviation and both limits.
func TestScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := adevDraw(t, 40, 120)
		c := rapid.Float64Range(0.1, 1e6).Draw(t, "c")
		scaled := make([]float64, len(x))
		for i := range x {
			scaled[i] = c * x[i]
		}
		p, _ := NewPhase(x, 2)
		q, _ := NewPhase(scaled, 2)
		white := WhiteFM
		o := DeviationOptions{Kinds: adevAllKinds, Factors: []int{1, 3}, Noise: &white}
		a, errA := DeviationsOf(p, o)
		b, errB := DeviationsOf(q, o)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		for i := range a {
			for j := range a[i] {
				for _, pair := range [][2]float64{{a[i][j].Value, b[i][j].Value}, {a[i][j].Lo, b[i][j].Lo}, {a[i][j].Hi, b[i][j].Hi}} {
					if math.Abs(c*pair[0]-pair[1]) > 1e-9*c*(pair[0]+1e-6) {
						t.Fatalf("%v: %g times %g is not %g", a[i][j].Kind, c, pair[0], pair[1])
					}
				}
			}
		}
	})
}

// adevBruteForce forms every term of a kind by its definition on readings y, where
// NaN is missing, and takes the mean square: slow, and with no shared code. A
// missing reading anywhere in the span makes the term NaN, and it is left out.
func adevBruteForce(k Kind, y []float64, tau0S float64, m int) (value float64, terms int) {
	average := func(i int) float64 {
		s := 0.0
		for _, v := range y[i : i+m] {
			s += v / float64(m)
		}
		return s
	}
	difference := func(i int) float64 {
		if k.differences() == 3 {
			return average(i+2*m) - 2*average(i+m) + average(i)
		}
		return average(i+m) - average(i)
	}
	span, width := k.differences()*m, 1
	if k.modified() {
		width = m
	}
	sum := 0.0
	for i := 0; i+span+width-1 <= len(y); i++ {
		d := 0.0
		for j := range width {
			d += difference(i+j) / float64(width)
		}
		if !math.IsNaN(d) {
			sum, terms = sum+d*d, terms+1
		}
	}
	divisor := 2.0
	if k.differences() == 3 {
		divisor = 6
	}
	value = math.Sqrt(sum / divisor / float64(terms))
	if k == KindTime {
		value *= float64(m) * tau0S / math.Sqrt(3)
	}
	return value, terms
}

// With and without gaps, the fast walk gives what the definition gives over
// the complete terms, no term more and none less.
func TestGapsAgainstBruteForce(t *testing.T) {
	kinds := []Kind{KindOverlappingAllan, KindModifiedAllan, KindTime, KindOverlappingHadamard}
	rapid.Check(t, func(t *rapid.T) {
		y := adevDraw(t, 30, 150)
		for _, i := range rapid.SliceOfN(rapid.IntRange(0, len(y)-1), 0, 6).Draw(t, "missing") {
			y[i] = math.NaN()
		}
		k := rapid.SampledFrom(kinds).Draw(t, "kind")
		m := rapid.IntRange(1, 12).Draw(t, "m")
		p, err := FromFrequency(y, 0.5)
		if err != nil {
			t.Skip("nothing left")
		}
		want, terms := adevBruteForce(k, y, 0.5, m)
		got, err := Deviations(k, p, m)
		if terms == 0 {
			if err == nil {
				t.Fatalf("no complete term, yet %+v", got)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if got[0].N != terms || math.Abs(got[0].Value-want) > 1e-9*(want+1e-9) {
			t.Fatalf("%v m=%d: %g from %d terms, by definition %g from %d", k, m, got[0].Value, got[0].N, want, terms)
		}
		if !(got[0].EDF > 0 && got[0].EDF < 2.01*float64(terms)) {
			t.Fatalf("%v m=%d: %g degrees of freedom from %d terms", k, m, got[0].EDF, terms)
		}
	})
}

// The long-record machinery (blocks, restarts of the running sum, groups of
// factors) gives what one simple loop gives.
func TestBlocksAgainstBruteForce(t *testing.T) {
	w := adevGaussian(3*devBlock+777, 5)
	p := adevPhase(t, w, 1)
	for _, m := range []int{1, 2, 1023, 1025, 5000, 16000} {
		x := p.segments[0]
		var a, h float64
		for i := 0; i+2*m < len(x); i++ {
			d := x[i+2*m] - 2*x[i+m] + x[i]
			a += d * d
			if i+3*m < len(x) {
				d = x[i+3*m] - 3*x[i+2*m] + 3*x[i+m] - x[i]
				h += d * d
			}
		}
		q := devPass{m: m}
		q.walk(x)
		adevWithin(t, "sum of squared second differences", q.allan.sum, a, 1e-10)
		adevWithin(t, "sum of squared third differences", q.hada.sum, h, 1e-10)
		if q.allan.terms != len(x)-2*m || q.hada.terms != len(x)-3*m || q.mod.terms != len(x)-3*m+1 {
			t.Errorf("m=%d: %d, %d, %d terms", m, q.allan.terms, q.hada.terms, q.mod.terms)
		}
		adevWithin(t, "modified sum", q.mod.sum, adevModifiedByPrefix(x, m), 1e-9)
	}
}

// adevModifiedByPrefix is the modified sum from prefix sums of the phase.
func adevModifiedByPrefix(x []float64, m int) float64 {
	c := make([]float64, len(x)+1)
	for i, v := range x {
		c[i+1] = c[i] + v
	}
	sum := 0.0
	for i := 0; i+3*m <= len(x); i++ {
		s := (c[i+3*m] - c[i+2*m]) - 2*(c[i+2*m]-c[i+m]) + (c[i+m] - c[i])
		sum += s * s
	}
	return sum
}
