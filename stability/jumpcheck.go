package stability

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// placed moves a candidate to the place within its width where two levels fit best.
func (s *jmpSearch) placed(c jmpCandidate) jmpCandidate {
	a, b := c.i-c.w, c.i+c.w
	best, where := -1.0, c.i
	for i := a + 1; i < b; i++ {
		d := s.mean(i, b) - s.mean(a, i)
		gain := d * d * float64((i-a)*(b-i))
		if gain > best {
			best, where = gain, i
		}
	}
	c.i = where
	return c
}

// stays says whether the step at c is one: sharp, and still there afterwards.
func (s *jmpSearch) stays(c jmpCandidate) bool {
	if c.i < jumpSide || c.i+jumpSide > len(s.r) {
		return false
	}
	left := append([]float64(nil), s.r[c.i-jumpSide:c.i]...)
	right := append([]float64(nil), s.r[c.i:c.i+jumpSide]...)
	if half := (recMedian(right) - recMedian(left)) / c.size; half < 0.5 {
		return false
	}
	m := min(max(c.w, jumpSide), 16)
	a, b := s.lineAt(c.i-m, c.i, c.i), s.lineAt(c.i, c.i+m, c.i)
	return (b-a)/c.size >= 0.5
}

// lineAt is the line through readings a to b-1, evaluated midway between
// readings i-1 and i.
func (s *jmpSearch) lineAt(a, b, i int) float64 {
	a, b = max(a, 0), min(b, len(s.r))
	for k := a + 1; k < b; k++ { // no further than the next gap
		if s.gap[k] && k != i {
			if k < i {
				a = k
			} else {
				b = k
			}
		}
	}
	at := (s.t[i-1] + s.t[i]) / 2
	n, mt := float64(b-a), 0.0
	for k := a; k < b; k++ {
		mt += (s.t[k] - at) / n
	}
	mr, sxx, sxy := s.mean(a, b), 0.0, 0.0
	for k := a; k < b; k++ {
		d := s.t[k] - at - mt
		sxx += d * d
		sxy += d * (s.r[k] - mr)
	}
	if sxx == 0 {
		return mr
	}
	return mr - mt*sxy/sxx
}

// jump makes the result of a candidate that stays.
func (s *jmpSearch) jump(c jmpCandidate) Jump {
	z := math.Abs(c.size) / c.u
	tail := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: c.nu}.CDF(-z)
	p := math.Min(1, 2*tail*float64(len(s.t)*len(s.widths)))
	return Jump{
		TimeS: (s.t[c.i-1] + s.t[c.i]) / 2, GapS: s.t[c.i] - s.t[c.i-1],
		SizeHz: c.size, UHz: c.u, DoF: c.nu, Sigmas: z, P: p, at: c.i,
	}
}
