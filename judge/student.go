package judge

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// asNormal is where Student's t is taken as normal: the quantiles differ by
// less than 1e-5.
const asNormal = 1e6

// upperTail returns the chance that Student's t with dof degrees of freedom
// (infinitely many, or not a whole number, allowed) exceeds t.
func upperTail(t, dof float64) float64 {
	switch {
	case math.IsNaN(t) || math.IsNaN(dof):
		return 1
	case math.IsInf(t, 1):
		return 0
	case math.IsInf(t, -1):
		return 1
	case dof > asNormal:
		return distuv.UnitNormal.CDF(-t)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.CDF(-t)
}

// quantile returns the p-quantile of Student's t. Unlike [quantity.Coverage] it
// doesn't cut dof to a whole number, so that interval and test agree.
func quantile(p, dof float64) float64 {
	if dof > asNormal {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(p)
}

// exceeds returns the one-sided p against "the estimate is not above zero" for
// standard uncertainty u. Without uncertainty it is a matter of fact.
func exceeds(estimate, u, dof float64) float64 {
	if u == 0 {
		if estimate > 0 {
			return 0
		}
		return 1
	}
	return upperTail(estimate/u, dof)
}
