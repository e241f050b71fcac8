// Package list is the one place that names every measurement. A new one is a
// new folder beside this and one line here.
package list

import (
	"setwright/internal/measure"
	"setwright/internal/measure/agc"
	"setwright/internal/measure/audio"
	"setwright/internal/measure/bfo"
	"setwright/internal/measure/drift"
	"setwright/internal/measure/selectivity"
	"setwright/internal/measure/sensitivity"
)

// Registry returns all measurements and derivations.
func Registry() (*measure.Registry, error) {
	return measure.NewRegistry(
		[]measure.Measurement{
			drift.Measurement{}, // first: the one that is meant where nothing is said
			agc.Measurement{},
			audio.Measurement{},
			bfo.Measurement{},
			selectivity.Measurement{},
			sensitivity.Measurement{},
		},
		sensitivity.Derivations(),
	)
}
