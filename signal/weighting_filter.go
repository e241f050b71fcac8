package signal

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// NewFilter is a filter of second-order sections that follows a weighting at
// any sample rate: the poles and zeros of its network are taken over by z =
// exp(s/rate) and then fitted to the curve in decibels, from 20 Hz to 0.45 of the
// rate or 20 kHz. How well it follows is said by FitDB: the greatest difference
// from the curve, where the curve lies within 40 dB of its top, up to FitToHz.
func NewFilter(w Weighting, rate float64) (*Filter, error) {
	if err := needRate(rate); err != nil {
		return nil, err
	}
	if !w.known() {
		return nil, fmt.Errorf("signal: weighting no. %d, expected one of the list", w)
	}
	if w == Flat {
		return newFilter(rate), nil
	}
	if rate < 4000 {
		return nil, fmt.Errorf("signal: a weighting filter at %g samples a second, expected 4000 at least", rate)
	}
	var best *Filter
	for _, spread := range [...]float64{1, 0.6, 1.7} { // a fit may end in a poor place
		f := newShape(w, rate, spread).fit().filter(w)
		if best == nil || f.FitDB < best.FitDB {
			best = f
		}
		if best.FitDB < w.goodFit() {
			break
		}
	}
	return best, nil
}

// goodFit is the fit at which no better one is looked for, in decibels: the
// telephone curves have corners, which no filter of this order follows.
func (w Weighting) goodFit() float64 {
	if w == WeightO41 || w == WeightCMessage {
		return 0.5
	}
	return 0.1
}

// reference is where the filter's gain is exact.
func (w Weighting) reference() float64 {
	if w == WeightO41 {
		return 800
	}
	return 1000
}

// shape is a set of pole and zero pairs to be fitted.
type shape struct {
	rate    float64
	zeros   int          // at zero frequency
	poles   []polePair   // of s; z = exp(s/rate)
	nulls   []polePair   // zeros likewise
	hz      []float64    // grid of the fit
	want    []float64    // dB there
	z       []complex128 // the unit circle there
	weights []float64
}

// The networks that the fit of the telephone weightings begins with: found by
// trial.
var (
	beginO41      = analogue{zeros: 4, pairs: hertzPairs([2]float64{180, 0.9}, [2]float64{330, 0.6}, [2]float64{1000, 0.5}, [2]float64{3400, 0.25}, [2]float64{3700, 0.1})}
	beginCMessage = analogue{zeros: 4, pairs: hertzPairs([2]float64{200, 0.9}, [2]float64{700, 0.8}, [2]float64{900, 0.4}, [2]float64{2900, 0.3}, [2]float64{3300, 0.15})}
)

func hertzPairs(in ...[2]float64) []polePair {
	var out []polePair
	for _, p := range in {
		out = append(out, polePair{2 * math.Pi * p[0], p[1]})
	}
	return out
}

func (w Weighting) network() (a analogue, nulls int) {
	switch w {
	case WeightA:
		return analogueA, 2
	case WeightC:
		return analogueC, 2
	case Weight468:
		return analogue468, 3
	case WeightO41:
		return beginO41, 3
	}
	return beginCMessage, 3
}

func newShape(w Weighting, rate, spread float64) *shape {
	a, nulls := w.network()
	s := &shape{rate: rate, zeros: a.zeros}
	for _, p := range a.pairs {
		s.poles = append(s.poles, p.within(rate))
	}
	for i := range nulls {
		// Far out and well damped: hardly any effect to begin with.
		s.nulls = append(s.nulls, polePair{math.Pi * rate * (1.3 - 0.3*float64(i)) * spread, 0.8})
	}
	low, high := 20.0, min(20000, 0.45*rate)
	if w == WeightO41 || w == WeightCMessage {
		low, high = 45, min(6000, high) // no tolerance is printed outside
	}
	const points = 160
	for i := range points {
		f := low * math.Pow(high/low, float64(i)/(points-1))
		s.hz, s.want = append(s.hz, f), append(s.want, w.DB(f))
		s.z = append(s.z, cmplx.Exp(complex(0, 2*math.Pi*f/rate)))
	}
	s.weigh()
	return s
}

// within keeps the natural frequency of a pair where sampling can hold it.
func (p polePair) within(rate float64) polePair {
	if limit := 0.85 * math.Pi * rate; p.omega > limit && p.damping < 1 {
		return polePair{limit, max(p.damping, 0.7)}
	}
	return p
}

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

// filter is the chain of sections, with its gain exact at the reference.
func (s *shape) filter(w Weighting) *Filter {
	f := newFilter(s.rate)
	for i, p := range s.poles {
		b := rootSection(p, s.rate)
		b = Biquad{B0: 1, A1: b.B1, A2: b.B2}
		switch zeros := s.zeros - 2*i; {
		case zeros >= 2:
			b.B1, b.B2 = -2, 1
		case zeros == 1:
			b.B1 = -1
		}
		f.add(b)
	}
	for i, p := range s.nulls {
		// Zeros go to sections that have none yet, from the last on.
		b := rootSection(p, s.rate)
		at := &f.Sections[len(f.Sections)-1-i]
		if at.B1 != 0 || at.B2 != 0 {
			f.add(b)
			continue
		}
		at.B1, at.B2 = b.B1, b.B2
	}
	ref := w.reference()
	g := math.Pow(10, (w.DB(ref)-f.DB(ref))/20)
	first := &f.Sections[0]
	first.B0, first.B1, first.B2 = first.B0*g, first.B1*g, first.B2*g
	s.judge(f, w)
	return f
}

// rootSection has the roots of a pair as zeros.
func rootSection(p polePair, rate float64) Biquad {
	z1, z2 := p.roots(rate)
	return Biquad{B0: 1, B1: -real(z1 + z2), B2: real(z1 * z2)}
}

// judge states the fit.
func (s *shape) judge(f *Filter, w Weighting) {
	top := math.Inf(-1)
	for _, d := range s.want {
		top = max(top, d)
	}
	for i, hz := range s.hz {
		if s.want[i] > top-40 {
			f.FitDB = max(f.FitDB, math.Abs(f.DB(hz)-s.want[i]))
			f.FitToHz = hz
		}
	}
}
