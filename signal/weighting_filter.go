package signal

import (
	"fmt"
	"math"
	"math/cmplx"
)

// NewFilter is a filter of second-order sections that follows a weighting at
// any sample rate: the poles and zeros of its network are taken over by z =
// exp(s/rate) and then fitted to the curve in decibels, from 20 Hz to 0.45 of the
// rate or 20 kHz (telephone curves: 45 Hz to 6 kHz). How well it follows is said by FitDB: the greatest difference
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
