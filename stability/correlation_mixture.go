package stability

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// noiseLevel is the share of the models' weight below the standard uncertainty that
// is stated. The middle would do if all models were alike in shape; a random
// walk lies at one end of them (nothing is slower), so a little above.
const noiseLevel = 0.6

// mixture returns the standard uncertainty below which noiseLevel of the
// models' weight lies, between models by interpolation of the logarithm, and
// the degrees of freedom of a model's scale.
//
// A wider rule (the half-width that holds 95 % of the mixture of t
// distributions) covers too often for autoregressive noise, whose slow
// alternatives would set the width; see the coverage test.
func (n Noise) mixture(s []float64) (u, dof float64) {
	order := make([]int, len(s))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(i, j int) bool { return s[order[i]] < s[order[j]] })
	dof = n.Models[0].DoF
	below, lastMid, last := 0.0, 0.0, 0.0
	for k, i := range order {
		mid := below + n.Models[i].Weight/2
		below += n.Models[i].Weight
		if mid >= noiseLevel {
			if k == 0 || last == 0 {
				return s[i], dof
			}
			x := (noiseLevel - lastMid) / (mid - lastMid)
			return last * math.Pow(s[i]/last, x), dof
		}
		lastMid, last = mid, s[i]
	}
	return last, dof
}

// tQuantile returns x with P(|t| < x) = level for the given degrees of freedom;
// more than 1e5 are as good as infinitely many.
func tQuantile(level, dof float64) float64 {
	if dof > 1e5 {
		return math.Sqrt2 * math.Erfinv(level)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile((1 + level) / 2)
}
