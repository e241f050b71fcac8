package audio

import (
	"setwright/internal/measure/pool"
	"setwright/quantity"
)

// pooled is the mean of repeats as a value whose source is the run's own noise.
func (w *work) pooled(all []pool.Observed) quantity.Value {
	mean, u, dof := pool.Mean(all)
	return quantity.New(mean, part(w.sources.noise, u, dof))
}
