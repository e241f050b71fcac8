package superhet

import (
	"fmt"
	"math"
)

// Series is a series of preferred values: the number of them in a decade.
type Series int

// The series that resistors are sold in (IEC 60063).
const (
	E12 Series = 12
	E24 Series = 24
	E96 Series = 96
)

func (s Series) String() string { return fmt.Sprintf("E%d", int(s)) }

// e24 are the values of E24, of which every other one is E12. They are older
// than the rule of the finer series and do not follow it.
var e24 = []float64{1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1}

// Values returns the values of one decade, from 1 up to below 10, nil for a
// series that is not known.
func (s Series) Values() []float64 {
	switch s {
	case E12, E24:
		var out []float64
		for i := 0; i < len(e24); i += 24 / int(s) {
			out = append(out, e24[i])
		}
		return out
	case E96:
		out := make([]float64, s)
		for i := range out {
			out[i] = math.Round(100*math.Pow(10, float64(i)/float64(s))) / 100
		}
		return out
	}
	return nil
}

// Tolerance returns the tolerance, as a fraction, that goes with the series:
// half the step between its values, as they are sold.
func (s Series) Tolerance() float64 {
	switch s {
	case E12:
		return 0.10
	case E24:
		return 0.05
	}
	return 0.01
}

// Nearest returns the value of the series nearest in ratio to x > 0. NaN for any
// other x or series.
func (s Series) Nearest(x float64) float64 {
	values := s.Values()
	if !(x > 0) || math.IsInf(x, 1) || len(values) == 0 {
		return math.NaN()
	}
	decade := math.Floor(math.Log10(x))
	best := math.NaN()
	for _, d := range []float64{decade - 1, decade, decade + 1} {
		for _, v := range values {
			if y := scaled(v, d); math.IsNaN(best) || off(y, x) < off(best, x) {
				best = y
			}
		}
	}
	return best
}

// off is how far one value is from another, by ratio.
func off(y, x float64) float64 { return math.Max(y/x, x/y) }

// scaled multiplies by a power of ten without the dust of 5.1e-1 × 10.
func scaled(v, decade float64) float64 {
	if decade < 0 {
		return v / math.Pow(10, -decade)
	}
	return math.Round(v*100) * math.Pow(10, decade) / 100
}
