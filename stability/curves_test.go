package stability

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
)

// curve is a sum of exponentials and a line with known constants, in s and Hz:
// the truth that simulated records are made from.
type curve struct {
	limit, slope float64
	amp, tau     []float64
	end          float64 // the line is zero here
}

func (c curve) At(t float64) float64 {
	v := c.limit + c.slope*(t-c.end)
	for k, a := range c.amp {
		v += a * math.Exp(-t/c.tau[k])
	}
	return v
}

func (c curve) Travel(t1, t2 float64) (d, u float64) { return c.At(t2) - c.At(t1), 0 }

func (c curve) ShortestTimeConstant() float64 {
	if len(c.tau) == 0 {
		return math.Inf(1)
	}
	return c.tau[0]
}

// The models of testdata/stability-warmup.csv.
var (
	single     = curve{limit: 5e6, amp: []float64{-2000}, tau: []float64{900}}
	sameEnd    = curve{limit: 5e6, amp: []float64{600, -1500}, tau: []float64{240, 2700}}
	crossing   = curve{limit: 5e6, amp: []float64{1000, -400}, tau: []float64{300, 2400}}
	warmUpHead = []string{"single", "two_same_end", "two_crossing", "single_plus_noise"}
)

// warmUpColumn reads one curve of the file: times in s.
func warmUpColumn(t *testing.T, name string) (ts, f []float64) {
	t.Helper()
	file, err := os.Open("testdata/stability-warmup.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	col := -1
	for i, h := range warmUpHead {
		if h == name {
			col = i + 1
		}
	}
	for _, row := range rows[1:] {
		minutes, err1 := strconv.ParseFloat(row[0], 64)
		v, err2 := strconv.ParseFloat(row[col], 64)
		if err1 != nil || err2 != nil {
			t.Fatalf("row %v", row)
		}
		ts, f = append(ts, minutes*60), append(f, v)
	}
	return ts, f
}

// sampled reads a curve every h seconds from 0 to end.
func sampled(c curve, h, end float64) (ts, f []float64) {
	for i := 0; float64(i)*h <= end; i++ {
		ts = append(ts, float64(i)*h)
		f = append(f, c.At(float64(i)*h))
	}
	return ts, f
}

// noiseKinds make n values of frequency noise of standard deviation about 1 (of
// one step of it, for a random walk), h seconds apart.
var noiseKinds = map[string]func(rng *rand.Rand, n int, h float64) []float64{
	"white": func(rng *rand.Rand, n int, _ float64) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = rng.NormFloat64()
		}
		return v
	},
	"AR(1) of 5 min": func(rng *rand.Rand, n int, h float64) []float64 {
		v := make([]float64, n)
		a := math.Exp(-h / 300)
		x := rng.NormFloat64()
		for i := range v {
			v[i] = x
			x = a*x + math.Sqrt(1-a*a)*rng.NormFloat64()
		}
		return v
	},
	// Flicker: the sum of relaxations whose rates are spread evenly in octaves.
	"flicker": func(rng *rand.Rand, n int, _ float64) []float64 {
		v := make([]float64, n)
		for tau := 1.0; tau < 4*float64(n); tau *= 2 {
			a := math.Exp(-1 / tau)
			x := rng.NormFloat64()
			for i := range v {
				v[i] += x / 3
				x = a*x + math.Sqrt(1-a*a)*rng.NormFloat64()
			}
		}
		return v
	},
	"random walk": func(rng *rand.Rand, n int, _ float64) []float64 {
		v := make([]float64, n)
		x := 0.0
		for i := range v {
			v[i] = x
			x += rng.NormFloat64()
		}
		return v
	},
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g ± %.2g", what, got, want, tol)
	}
}
