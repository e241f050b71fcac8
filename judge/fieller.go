package judge

import (
	"math"

	"setwright/quantity"
)

// RatioInterval returns the interval of the ratio b/a of two values at a
// confidence (0 < confidence < 1) by Fieller's theorem: the ratios r for which
// b − r·a is not refused. Sources that a and b share are allowed for by
// arithmetic. The t factor is that of dof degrees of freedom (0 for infinitely
// many). ok is false where a can't be told from zero, because then the ratio is
// open.
//
//	r = [r̂ − g·v₁₂/v₁₁ ± (t/a)·√(v₂₂ − 2r̂v₁₂ + r̂²v₁₁ − g(v₂₂ − v₁₂²/v₁₁))] / (1 − g),
//	g = t²v₁₁/a²
func RatioInterval(a, b quantity.Value, confidence, dof float64) (lo, hi float64, ok bool) {
	if !a.Defined() || !b.Defined() || !(confidence > 0 && confidence < 1) {
		return 0, 0, false
	}
	v11, v22, v12 := a.U()*a.U(), b.U()*b.U(), covariance(a, b)
	t := quantile((1+confidence)/2, infiniteIfZero(dof))
	// the roots of (a² − t²v₁₁)r² − 2(ab − t²v₁₂)r + (b² − t²v₂₂) = 0
	x, y := a.Estimate(), b.Estimate()
	p, q, s := x*x-t*t*v11, x*y-t*t*v12, y*y-t*t*v22
	d := q*q - p*s
	if p <= 0 || d < 0 {
		return 0, 0, false
	}
	root := math.Sqrt(d)
	return (q - root) / p, (q + root) / p, true
}

// covariance is Σ c·c over the sources that two values share.
func covariance(a, b quantity.Value) float64 {
	of := map[string]float64{}
	for _, p := range a.Contributions() {
		of[p.ID] = p.C
	}
	sum := 0.0
	for _, p := range b.Contributions() {
		sum += p.C * of[p.ID]
	}
	return sum
}
