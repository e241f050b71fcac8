package judge

import "math"

// TOST is the two one-sided tests of |δ| < Δ: the p of either and whether both
// are below 5 %.
type TOST struct {
	Lower float64 `json:"lower"` // against δ <= −Δ
	Upper float64 `json:"upper"` // against δ >= +Δ
	Holds bool    `json:"holds"`
}

// statements are the p values of the three statements, and which way the
// difference points. A p of 1 means that the statement can't be made.
type statements struct {
	way   float64 // +1: b is larger, −1: b is smaller, 0: open
	real  float64 // two-sided, against δ = 0
	large float64 // twice one-sided, against |δ| <= Δ
	tost  TOST
}

func (s statements) small() float64 { return math.Max(s.tost.Lower, s.tost.Upper) }

// judgeDifference tests the three statements with the margin contrast, which is
// Δ as a linear function of both sides.
func (m *model) judgeDifference(margin contrast) statements {
	d := difference
	up, down := m.worst(d), m.worst(d.neg())
	s := statements{way: 1, real: twice(up), large: twice(m.worst(d.add(-1, margin)))}
	if down < up {
		s = statements{way: -1, real: twice(down), large: twice(m.worst(d.neg().add(-1, margin)))}
	}
	if s.real >= 1 {
		s.way = 0
	}
	s.tost.Lower, s.tost.Upper = m.worst(d.add(1, margin)), m.worst(d.neg().add(1, margin))
	s.tost.Holds = s.small() < alpha
	return s
}

func twice(p float64) float64 { return math.Min(1, 2*p) }

// word turns statements into a word, α being held on the p values given.
func (s statements) word(better Direction) Word {
	switch {
	case s.small() < alpha:
		return NoDifference
	case s.large < alpha:
		return s.pick(better, Better, Worse, Different)
	case s.real < alpha:
		return s.pick(better, BetterPerhaps, WorsePerhaps, DifferentPerhaps)
	}
	return CannotTell
}

func (s statements) pick(better Direction, good, bad, neutral Word) Word {
	switch better.sign() * s.way {
	case 1:
		return good
	case -1:
		return bad
	}
	return neutral
}

// mostRelative is where a fraction of the mean of both sides stops meaning
// anything: two positive numbers never differ by twice their mean.
const mostRelative = 2

// margin returns the amount that matters as a contrast, and as a number at the
// places of the readings. For a relative one it is a fraction of the mean of
// both sides, whose sign must be certain; ok is false where it is not, or where
// the fraction is 2 or more.
func (m *model) margin(c Criterion) (k contrast, amount float64, ok bool) {
	matters := math.Abs(c.Matters)
	if !finite(matters) {
		matters = 0
	}
	if !c.Relative {
		return contrast{shift: matters}, matters, true
	}
	half := contrast{kA: matters / 2, kB: matters / 2}
	x := m.places()
	amount = half.kA*mean(x[0]) + half.kB*mean(x[1])
	if amount < 0 {
		half, amount = half.neg(), -amount
	}
	return half, amount, matters == 0 || matters < mostRelative && m.p(half, x) < alpha/2
}
