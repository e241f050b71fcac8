package chart

import "math"

// Tick is a place on an axis with what is written there. Minor ticks have no
// label.
type Tick struct {
	Value float64
	Label string
}

// LinearTicks returns ticks from lo to hi at multiples of 1, 2 or 5 times a
// power of ten: as many as fit, at most `most` (at least 2 are allowed for).
// Values ascend and lie within lo to hi; labels are distinct and carry as
// many decimals as the step needs. lo must be below hi, both finite;
// otherwise there are none.
func LinearTicks(lo, hi float64, most int) []Tick {
	if !finite(lo) || !finite(hi) || lo >= hi {
		return nil
	}
	return multiples(lo, hi, niceStep(lo, hi, max(most, 2)))
}

// step is m times ten to the power e, kept apart so that its multiples can be
// rounded correctly (three tenths is 3/10, not 3 times 0.1).
type step struct {
	m float64
	e int
}

func (s step) at(n float64) float64 {
	if s.e < 0 {
		return n * s.m / pow10(-s.e)
	}
	return n * s.m * pow10(s.e)
}

func (s step) size() float64 { return s.at(1) }

// next returns the next coarser step: 1, 2, 5, 10.
func (s step) next() step {
	switch s.m {
	case 1:
		return step{2, s.e}
	case 2:
		return step{5, s.e}
	}
	return step{1, s.e + 1}
}

// niceStep returns the finest step of which at most `most` multiples lie from
// lo to hi. Steps too fine for a float64 of this size to tell apart are not
// considered.
func niceStep(lo, hi float64, most int) step {
	fine := hi/float64(most) - lo/float64(most) // each divided first: the range may overflow
	fine = max(fine, 1e-13*max(math.Abs(lo), math.Abs(hi)), 1e-300)
	s := step{1, exponent(fine)}
	for s.size() < fine*(1-1e-9) || count(lo, hi, s) > most {
		s = s.next()
	}
	return s
}

func count(lo, hi float64, s step) int {
	first, last := bounds(lo, hi, s)
	return int(last-first) + 1
}

// bounds returns the numbers of the first and last multiple of s from lo to hi.
func bounds(lo, hi float64, s step) (first, last float64) {
	first, last = math.Ceil(lo/s.size()-1e-9), math.Floor(hi/s.size()+1e-9)
	if s.at(first) < lo {
		first++
	}
	if s.at(last) > hi {
		last--
	}
	return first, last
}

func multiples(lo, hi float64, s step) []Tick {
	first, last := bounds(lo, hi, s)
	var out []Tick
	for n := first; n <= last; n++ {
		v := s.at(n)
		if v == 0 {
			v = 0 // a negative zero becomes a plain one
		}
		out = append(out, Tick{v, Number(v, -s.e)})
	}
	return out
}
