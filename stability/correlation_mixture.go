package stability

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// mixture turns the standard uncertainties under each model into one with
// degrees of freedom: those of the scaled t distribution that has the
// mixture's 95 % half-width exactly and its 68.27 % half-width as near as a t can.
func (n Noise) mixture(s []float64) (u, dof float64) {
	top := 0.0
	for _, v := range s {
		top = math.Max(top, v)
	}
	if top == 0 {
		return 0, math.Inf(1)
	}
	wide, narrow := n.halfWidth(s, 0.95), n.halfWidth(s, 0.6827)
	dof = tDegrees(wide / narrow)
	return wide / tQuantile(0.95, dof), dof
}

// halfWidth solves Σ weight·P(|t_dof|·s < h) = level for h, by bisection in ln h.
func (n Noise) halfWidth(s []float64, level float64) float64 {
	lo, hi := math.Inf(1), 0.0
	for i, v := range s {
		q := v * tQuantile(level, n.Models[i].DoF)
		if v > 0 {
			lo = math.Min(lo, q)
		}
		hi = math.Max(hi, q)
	}
	for range 60 {
		mid := math.Sqrt(lo * hi)
		if n.within(s, mid) < level {
			lo = mid
		} else {
			hi = mid
		}
		if hi-lo < 1e-9*hi {
			break
		}
	}
	return hi
}

// within is the probability that the mixture lies within ±h.
func (n Noise) within(s []float64, h float64) float64 {
	p := 0.0
	for i, v := range s {
		m := &n.Models[i]
		if v == 0 {
			p += m.Weight
			continue
		}
		p += m.Weight * tInside(h/v, m.DoF)
	}
	return p
}

// tInside is P(|t| < x) with the given degrees of freedom.
func tInside(x, dof float64) float64 {
	if dof > 1e5 {
		return math.Erf(x / math.Sqrt2)
	}
	return 2*distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.CDF(x) - 1
}

// tQuantile returns x with P(|t| < x) = level.
func tQuantile(level, dof float64) float64 {
	if dof > 1e5 {
		return math.Sqrt2 * math.Erfinv(level)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile((1 + level) / 2)
}

// tDegrees finds the degrees of freedom at which the 95 % and the 68.27 %
// half-widths have the given ratio; from 1 to infinite.
func tDegrees(ratio float64) float64 {
	at := func(dof float64) float64 { return tQuantile(0.95, dof) / tQuantile(0.6827, dof) }
	if ratio <= at(1000) {
		return math.Inf(1)
	}
	lo, hi := 1.0, 1000.0
	if ratio >= at(lo) {
		return lo
	}
	for range 40 {
		mid := math.Sqrt(lo * hi)
		if at(mid) > ratio {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Sqrt(lo * hi)
}
