package selectivity

import (
	"context"

	"setwright/internal/measure"
)

func (w *work) fromNoise(ctx context.Context, recs []measure.Recording, progress func(float64)) (*curve, error) {
	return nil, &measure.Refusal{Row: -1, Found: "a recording", Expected: "readings"}
}
