// Package pool takes the mean of repeats of one thing, each with its own
// standard uncertainty.
package pool

import "math"

// Observed is one observation with its own standard uncertainty U.
type Observed struct{ X, U float64 }

// Mean is the mean of observations, weighted by their uncertainties and by the
// variance between them that these do not explain (random effects, moments
// estimator: DerSimonian and Laird 1986, from memory). u is its standard
// uncertainty; dof are the degrees of freedom of u, 0 for infinitely many, where
// the observations agree within their own uncertainties. Observations whose U is
// not a positive number count as if they had the smallest of the others. NaN for
// none.
func Mean(all []Observed) (mean, u, dof float64) {
	if len(all) == 0 {
		return math.NaN(), math.NaN(), 0
	}
	us := uncertainties(all)
	if len(all) == 1 {
		return all[0].X, all[0].U, 0
	}
	between := Between(all)
	var sum, weights float64
	for i, o := range all {
		w := 1 / (us[i]*us[i] + between)
		sum += w * o.X
		weights += w
	}
	mean, u = sum/weights, 1/math.Sqrt(weights)
	if between > 0 {
		dof = float64(len(all) - 1)
	}
	return mean, u, dof
}

// Between is the variance between observations beyond their own.
func Between(all []Observed) float64 {
	us := uncertainties(all)
	var w0, w1, w2 float64
	for i, o := range all {
		w := 1 / (us[i] * us[i])
		w0, w1, w2 = w0+w, w1+w*o.X, w2+w*w
	}
	m, q := w1/w0, 0.0
	for i, o := range all {
		q += (o.X - m) * (o.X - m) / (us[i] * us[i])
	}
	c := w0 - w2/w0
	if len(all) < 2 || c <= 0 {
		return 0
	}
	return math.Max(0, (q-float64(len(all)-1))/c)
}

// uncertainties are the U of the observations, what is none replaced.
func uncertainties(all []Observed) []float64 {
	least := math.Inf(1)
	for _, o := range all {
		if o.U > 0 && o.U < least {
			least = o.U
		}
	}
	if math.IsInf(least, 1) {
		least = 1 // all alike
	}
	out := make([]float64, len(all))
	for i, o := range all {
		out[i] = o.U
		if !(o.U > 0) || math.IsInf(o.U, 1) {
			out[i] = least
		}
	}
	return out
}
