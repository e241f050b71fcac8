package signal

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// weigh lowers the weight of what lies far below the top.
func (s *shape) weigh() {
	top := math.Inf(-1)
	for _, d := range s.want {
		top = max(top, d)
	}
	for _, d := range s.want {
		s.weights = append(s.weights, 1/(1+max(0, top-50-d)/10))
	}
}

// roots are those of a pair in z.
func (p polePair) roots(rate float64) (z1, z2 complex128) {
	d := cmplx.Sqrt(complex(p.damping*p.damping-1, 0))
	s := complex(p.omega/rate, 0)
	return cmplx.Exp(-s * (complex(p.damping, 0) - d)), cmplx.Exp(-s * (complex(p.damping, 0) + d))
}

// pairDB adds what a pair of zeros does to the gain in decibels over the grid,
// times sign, to the numbers given.
func (s *shape) pairDB(p polePair, sign float64, to []float64) {
	z1, z2 := p.roots(s.rate)
	for i, z := range s.z {
		d := (z - z1) * (z - z2)
		to[i] += sign * 10 * math.Log10(real(d)*real(d)+imag(d)*imag(d))
	}
}

// sign is that of pair number i: zeros raise, poles lower.
func (s *shape) sign(i int) float64 {
	if i < len(s.poles) {
		return -1
	}
	return 1
}

// pair is pole or zero pair number i.
func (s *shape) pair(i int) *polePair {
	if i < len(s.poles) {
		return &s.poles[i]
	}
	return &s.nulls[i-len(s.poles)]
}

// residuals are weighted differences from the curve with their mean, the free
// constant, taken off.
func (s *shape) residuals() (r []float64, squares float64) {
	r = make([]float64, len(s.hz))
	for i, hz := range s.hz {
		r[i] = 20*float64(s.zeros)*math.Log10(2*math.Sin(math.Pi*hz/s.rate)) - s.want[i]
	}
	for i := range len(s.poles) + len(s.nulls) {
		s.pairDB(*s.pair(i), s.sign(i), r)
	}
	s.weighted(r)
	for _, v := range r {
		squares += v * v
	}
	return r, squares
}

// weighted takes the weighted mean off and weighs.
func (s *shape) weighted(r []float64) {
	mean, total := 0.0, 0.0
	for i, w := range s.weights {
		mean += r[i] * w * w
		total += w * w
	}
	for i, w := range s.weights {
		r[i] = (r[i] - mean/total) * w
	}
}

func (s *shape) copy() *shape {
	out := *s
	out.poles = append([]polePair(nil), s.poles...)
	out.nulls = append([]polePair(nil), s.nulls...)
	return &out
}

// moved is the shape with every frequency and damping multiplied by exp(step).
func (s *shape) moved(step []float64) *shape {
	out := s.copy()
	for i := range len(step) / 2 {
		p := out.pair(i)
		p.omega *= math.Exp(max(-0.5, min(0.5, step[2*i])))
		p.damping *= math.Exp(max(-0.5, min(0.5, step[2*i+1])))
		p.omega = min(p.omega, 3*math.Pi*s.rate)
		p.damping = max(0.01, min(p.damping, 20))
	}
	return out
}

// fit is the shape after Levenberg-Marquardt steps.
func (s *shape) fit() *shape {
	n := 2 * (len(s.poles) + len(s.nulls))
	lambda := 1e-2
	r, best := s.residuals()
	for range 200 {
		j := s.jacobian(n)
		improved := false
		for lambda < 1e8 {
			next := s.moved(marquardt(j, r, lambda))
			nr, sum := next.residuals()
			if sum < best {
				improved = best-sum > 1e-6*best
				s, r, best = next, nr, sum
				lambda = max(1e-9, lambda/5)
				break
			}
			lambda *= 4
		}
		if !improved {
			break
		}
	}
	return s
}

// jacobian differentiates the residuals by the logarithms of frequency and
// damping of every pair.
func (s *shape) jacobian(n int) *mat.Dense {
	const h = 1e-5
	j := mat.NewDense(len(s.hz), n, nil)
	for k := range n {
		p := *s.pair(k / 2)
		column := make([]float64, len(s.hz))
		s.pairDB(p, -s.sign(k/2)/h, column)
		if k%2 == 0 {
			p.omega *= math.Exp(h)
		} else {
			p.damping *= math.Exp(h)
		}
		s.pairDB(p, s.sign(k/2)/h, column)
		s.weighted(column)
		j.SetCol(k, column)
	}
	return j
}

// marquardt solves (JᵀJ + λ·diag)·step = −Jᵀr.
func marquardt(j *mat.Dense, r []float64, lambda float64) []float64 {
	_, n := j.Dims()
	var a mat.Dense
	a.Mul(j.T(), j)
	for k := range n {
		a.Set(k, k, a.At(k, k)*(1+lambda)+1e-9)
	}
	var b, x mat.VecDense
	b.MulVec(j.T(), mat.NewVecDense(len(r), r))
	b.ScaleVec(-1, &b)
	if x.SolveVec(&a, &b) != nil {
		return make([]float64, n)
	}
	return x.RawVector().Data
}
