package agc

import (
	"math"

	"setwright/quantity"
)

// observed is one observation with its own standard uncertainty.
type observed struct{ x, u float64 }

// poolOf is the mean of observations of one thing. Where they scatter by more
// than their own uncertainties explain, the excess is a scatter of the thing
// itself and joins in (moments estimator of the variance between, DerSimonian
// and Laird 1986, unweighted form, from memory); its degrees of freedom are then
// those of the scatter.
func poolOf(all []observed) (mean, u, dof float64) {
	n := float64(len(all))
	within := 0.0
	for _, o := range all {
		mean += o.x / n
		within += o.u * o.u / n
	}
	if len(all) == 1 {
		return mean, all[0].u, 0
	}
	scatter := 0.0
	for _, o := range all {
		scatter += (o.x - mean) * (o.x - mean) / (n - 1)
	}
	if scatter <= within {
		return mean, math.Sqrt(within / n), 0
	}
	return mean, math.Sqrt(scatter / n), n - 1
}

// pooledValue is the pool as a value whose source is the run's own noise.
func (w *work) pooledValue(all []observed) quantity.Value {
	mean, u, dof := poolOf(all)
	return quantity.New(mean, w.sources.part(w.sources.noise, u, dof))
}
