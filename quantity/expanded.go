package quantity

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// DoF returns the effective degrees of freedom of the standard uncertainty,
// u⁴ / Σ(cᵢ⁴/νᵢ): the Welch-Satterthwaite formula (GUM G.4.1, eq. G.2b).
// Infinite where every source's standard deviation is taken as known, or where
// there is no uncertainty.
func (v Value) DoF() float64 {
	u, sum := v.U(), 0.0
	if u == 0 {
		return math.Inf(1)
	}
	for _, p := range v.parts {
		r := p.C / u
		sum += r * r * r * r / p.dof()
	}
	return 1 / sum
}

// Coverage returns the factor k such that k·u is half the width of an interval
// covering the fraction p (0 < p < 1) of Student's t distribution with dof
// degrees of freedom. As GUM G.6.4 has it, dof is cut to the next lower whole
// number (not below 1). NaN where p or dof is out of range.
func Coverage(p, dof float64) float64 {
	if !(p > 0 && p < 1) || !(dof > 0) {
		return math.NaN()
	}
	const asNormal = 1e6 // from here on t differs from the normal by less than 1e-5
	if dof > asNormal {
		return distuv.UnitNormal.Quantile((1 + p) / 2)
	}
	if dof > 1 {
		dof = math.Floor(dof * (1 + 1e-9)) // 4.999999999 is 5 with rounding errors
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile((1 + p) / 2)
}

// Expanded returns the expanded uncertainty U = k·u, half the width of the
// interval that covers the fraction p (GUM 6.2 and G.4). NaN where p is not
// between 0 and 1.
func (v Value) Expanded(p float64) float64 {
	k, u := Coverage(p, v.DoF()), v.U()
	if u == 0 && !math.IsNaN(k) {
		return 0
	}
	return k * u
}

// Interval returns the estimate minus and plus [Value.Expanded].
func (v Value) Interval(p float64) (lo, hi float64) {
	half := v.Expanded(p)
	return v.estimate - half, v.estimate + half
}
