package audio

import (
	"math"

	"setwright/quantity"
)

// observed is one observation with its own standard uncertainty.
type observed struct{ x, u float64 }

// pooled is the mean of observations of one thing. Where they scatter by more
// than their own uncertainties explain, the scatter counts, with its degrees of
// freedom.
func (w *work) pooled(all []observed) quantity.Value {
	n := float64(len(all))
	mean, within := 0.0, 0.0
	for _, o := range all {
		mean += o.x / n
		within += o.u * o.u / n
	}
	scatter := 0.0
	for _, o := range all {
		scatter += (o.x - mean) * (o.x - mean)
	}
	if len(all) > 1 && scatter/(n-1) > within {
		return quantity.New(mean, part(w.sources.noise, math.Sqrt(scatter/(n-1)/n), n-1))
	}
	return quantity.New(mean, part(w.sources.noise, math.Sqrt(within/n), 0))
}
