package judge

import "math"

// widening is the standard uncertainty of "change less what was promised" over
// that of the change alone, for equal scatter on both sides: a promise of a
// fraction q moves with the value before, √(((1 ∓ q)² + 1)/2).
func (c Claim) widening() float64 {
	if !c.Relative {
		return 1
	}
	k := 1 + c.Direction.sign()*c.Amount
	return math.Sqrt((k*k + 1) / 2)
}

// keeps is the chance that a claim is judged kept, o.truth being the true change
// in the promised direction and f the claim's widening. Direction and amount
// must both be shown; the chance of both is taken as the least it can be.
func (o outlook) keeps(promised, f float64) float64 {
	t2, t1 := o.factors()
	return o.overScatter(func(s float64) float64 {
		return both(o.excess(promised, f).between(t1*s-o.margin/f, math.Inf(1)), o.moves(t2*s))
	})
}

// excess is the outlook of (change less what was promised)/f, whose standard
// uncertainty is that of the change.
func (o outlook) excess(promised, f float64) outlook {
	o.truth = (o.truth - promised) / f
	return o
}

func (o outlook) moves(limit float64) float64 { return o.between(limit, math.Inf(1)) }

// both is the least chance of two events together.
func both(p, q float64) float64 { return math.Max(0, p+q-1) }

// decidesClaim is the chance of any word but "cannot tell yet" on a promise of
// that much.
func (o outlook) decidesClaim(promised, f float64) float64 {
	t2, t1 := o.factors()
	return o.overScatter(func(s float64) float64 {
		y, moves := o.excess(promised, f), o.moves(t2*s)
		enough, short := t1*s-o.margin/f, -t2*s
		yes := both(1-y.between(short, enough), moves) // kept, or kept in part
		inner := o.inner(t1, s)
		no := o.between(-inner, inner) + o.between(math.Inf(-1), math.Min(-t2*s, -math.Max(inner, 0)))
		if promised <= 2*o.margin { // yes and no may overlap
			return math.Max(yes, no)
		}
		return math.Min(1, yes+no)
	})
}
