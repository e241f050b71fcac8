package judge

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// outlook is what further runs are expected to meet: a true difference Δtrue, a
// margin, and the standard uncertainty of the difference with its degrees of
// freedom once the runs are made.
type outlook struct {
	truth, margin float64
	u, dof        float64
	level         float64 // α of the statements; 0 for 0.05
	open          bool    // bounds forbid "too small to matter"
}

// factors returns Student's t of the two-sided and of the one-sided tests.
func (o outlook) factors() (two, one float64) {
	level := o.level
	if level == 0 {
		level = alpha
	}
	return quantile(1-level/2, o.dof), quantile(1-level, o.dof)
}

// inner is how far the estimate may lie from zero for the difference to be
// shown to be too small to matter.
func (o outlook) inner(t, s float64) float64 {
	if o.open {
		return -1
	}
	return o.margin - t*s
}

// chanceParts is how finely the chance of the scatter found is divided.
const chanceParts = 40

// overScatter averages f(s), s being the standard uncertainty that will be
// found: u·√(χ²/ν), taken at the middles of slices of equal chance.
func (o outlook) overScatter(f func(s float64) float64) float64 {
	if o.u == 0 || o.dof > asNormal {
		return f(o.u)
	}
	sum := 0.0
	for i := range chanceParts {
		sum += f(o.u * math.Sqrt(relativeVariance((float64(i)+0.5)/chanceParts, o.dof)))
	}
	return sum / chanceParts
}

// relativeVariance is the p-quantile of χ²/ν. Above 30 degrees of freedom it is
// Wilson and Hilferty's (1931, from memory) (1 − 2/(9ν) + z√(2/(9ν)))³, good to
// 1e-3 there and much quicker.
func relativeVariance(p, dof float64) float64 {
	if dof <= 30 {
		return distuv.ChiSquared{K: dof}.Quantile(p) / dof
	}
	k := 2 / (9 * dof)
	return math.Pow(1-k+distuv.UnitNormal.Quantile(p)*math.Sqrt(k), 3)
}

// between is the chance that the estimate falls between lo and hi.
func (o outlook) between(lo, hi float64) float64 {
	if hi <= lo {
		return 0
	}
	if o.u == 0 {
		if lo < o.truth && o.truth < hi {
			return 1
		}
		return 0
	}
	z := func(x float64) float64 { return distuv.UnitNormal.CDF((x - o.truth) / o.u) }
	return z(hi) - z(lo)
}

// beyond is the chance that the estimate falls outside −x to +x.
func (o outlook) beyond(x float64) float64 { return 1 - o.between(-x, x) }

// anyWord is the chance of any word but "cannot tell yet": a real difference is
// shown, or that it is too small to matter.
func (o outlook) anyWord() float64 {
	t2, t1 := o.factors()
	return o.overScatter(func(s float64) float64 {
		inner, outer := o.inner(t1, s), t2*s
		if inner >= outer {
			return 1
		}
		return o.beyond(outer) + o.between(-inner, inner)
	})
}

// firmWord is the chance of a word without "perhaps": certainly large or
// certainly small.
func (o outlook) firmWord() float64 {
	t2, t1 := o.factors()
	return o.overScatter(func(s float64) float64 {
		inner := o.inner(t1, s)
		return o.beyond(o.margin+t2*s) + o.between(-inner, inner)
	})
}

// large is the chance that the estimate is shown to lie beyond the margin.
func (o outlook) large() float64 {
	t, _ := o.factors()
	return o.overScatter(func(s float64) float64 { return o.between(o.margin+t*s, math.Inf(1)) })
}

// within is the chance that the estimate is shown to be within ±margin.
func (o outlook) within() float64 {
	_, t := o.factors()
	return o.overScatter(func(s float64) float64 {
		inner := o.inner(t, s)
		return o.between(-inner, inner)
	})
}

// Power returns the chance that a two-sided t test at level 0.05 of two groups
// of n finds a true difference of d standard deviations, by the noncentral t
// distribution (the tail on the far side, below 1e-3 where it is of use,
// included).
func Power(d float64, n int) float64 {
	if n < 2 || !finite(d) {
		return 0
	}
	nu := float64(2*n - 2)
	t := quantile(0.975, nu)
	dist := distuv.NoncentralT{Nu: nu, Mu: math.Abs(d) * math.Sqrt(float64(n)/2)}
	return 1 - dist.CDF(t) + dist.CDF(-t)
}
