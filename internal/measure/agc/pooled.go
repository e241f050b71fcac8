package agc

import (
	"setwright/internal/measure/pool"
	"setwright/quantity"
)

// pooledValue is the mean of repeats as a value whose source is the run's own
// noise.
func (w *work) pooledValue(all []pool.Observed) quantity.Value {
	mean, u, dof := pool.Mean(all)
	return quantity.New(mean, w.sources.part(w.sources.noise, u, dof))
}
