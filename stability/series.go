package stability

import (
	"math"
	"sort"
)

// recSeries holds the usable readings of a record: present, after power-on,
// not later than the horizon, not set aside.
type recSeries struct {
	t, f []float64 // s since power-on, Hz
	idx  []int     // index in the record
}

// recSeriesOf takes the readings up to horizon, a time since power-on.
func recSeriesOf(r Record, horizon float64) recSeries {
	var s recSeries
	for i, f := range r.FrequencyHz {
		t := r.sincePowerOn(i)
		if math.IsNaN(f) || t < 0 || t > horizon {
			continue
		}
		s.t, s.f, s.idx = append(s.t, t), append(s.f, f), append(s.idx, i)
	}
	return s
}

// without returns the series with the readings of the given slips left out.
func (s recSeries) without(slips []Slip) recSeries {
	out := make(map[int]bool, len(slips))
	for _, sl := range slips {
		out[sl.Index] = true
	}
	var kept recSeries
	for k, i := range s.idx {
		if !out[i] {
			kept.t, kept.f, kept.idx = append(kept.t, s.t[k]), append(kept.f, s.f[k]), append(kept.idx, i)
		}
	}
	return kept
}

// of returns the entries of a column of the record that belong to the series.
func (s recSeries) of(column []float64) []float64 {
	out := make([]float64, len(s.idx))
	for k, i := range s.idx {
		out[k] = column[i]
	}
	return out
}

// until returns the part of the series that is not later than horizon.
func (s recSeries) until(horizon float64) recSeries {
	n := sort.Search(len(s.t), func(i int) bool { return s.t[i] > horizon })
	return recSeries{s.t[:n], s.f[:n], s.idx[:n]}
}

// MedianSpacing returns the median of the spacings of times that differ, in
// the unit of t; 0 where there is none.
func MedianSpacing(t []float64) float64 {
	var d []float64
	for i := 1; i < len(t); i++ {
		if t[i] > t[i-1] {
			d = append(d, t[i]-t[i-1])
		}
	}
	if len(d) == 0 {
		return 0
	}
	return recMedian(d)
}

// Gaps returns the indices i at which more than three median spacings lie
// between t[i-1] and t[i].
func Gaps(t []float64) []int {
	h := MedianSpacing(t)
	var out []int
	for i := 1; i < len(t); i++ {
		if t[i]-t[i-1] > 3*h*(1+1e-9) {
			out = append(out, i)
		}
	}
	return out
}

// recMedian returns the median of v, which it sorts. It is NaN for no values.
func recMedian(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return math.NaN()
	}
	sort.Float64s(v)
	if n%2 == 1 {
		return v[n/2]
	}
	return v[n/2-1] + (v[n/2]-v[n/2-1])/2
}

// recCoarsest returns the resolution of f: the given one, or the decimal place
// to which all of at least four different readings are written, whichever is
// coarser. A dial read to 100 Hz is typed in hertz, and is no finer for it; that
// four readings end in the same zeros by chance happens once in a thousand.
func recCoarsest(f []float64, given float64) float64 {
	place := recResolution(f)
	if given <= 0 {
		return place
	}
	different := map[float64]bool{}
	for _, v := range f {
		if different[v] = true; len(different) >= 4 {
			return math.Max(given, place)
		}
	}
	return given
}

// recResolution returns the decimal place to which all of f are written, in
// the unit of f, or 0 where they use more places than a float64 can hold safely.
func recResolution(f []float64) float64 {
	for k := 6; k >= -6; k-- {
		q := math.Pow(10, float64(k))
		if recMultiples(f, q) {
			return q
		}
	}
	return 0
}

func recMultiples(f []float64, q float64) bool {
	for _, v := range f {
		x := v / q
		if rounding := 4e-16 * math.Abs(x); math.Abs(x-math.Round(x)) > rounding || rounding > 0.05 {
			return false
		}
	}
	return len(f) > 0
}
