package audio

import (
	"math"

	"setwright/internal/measure"
	"setwright/quantity"
)

// sources are the named causes of uncertainty of one run's figures.
type sources struct {
	noise, between, generator quantity.Source
}

func newSources(raw measure.Raw) sources {
	return sources{
		noise:     quantity.RunSource(raw.RunID, "noise").Source("readings and noise of the run", 0),
		between:   quantity.RunSource(raw.RunID, "between points").Source("course of the response between points", 0),
		generator: quantity.RunSource(raw.RunID, "generator distortion").Source("distortion of the generator's modulation", 0),
	}
}

// part is a contribution with the degrees of freedom of the estimate of u.
func part(src quantity.Source, c, dof float64) quantity.Contribution {
	if dof > 0 && !math.IsInf(dof, 1) {
		src.DoF = dof
	}
	return quantity.Contribution{Source: src, C: c}
}

// frequency is an edge with its sources; instruments that read the modulation
// frequency join in.
func (s sources) frequency(raw measure.Raw, e edge) quantity.Value {
	v := quantity.New(e.hz, part(s.noise, e.u, 0), part(s.between, e.between, 0))
	for _, in := range raw.Setup.Instruments {
		if in.Reads == "frequency" && in.Relative > 0 {
			key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Quantity: "frequency", Cell: in.Cell}
			v = v.With(quantity.Contribution{Source: key.Source("frequency of "+in.Name, in.DoF), C: e.hz * in.Relative})
		}
	}
	return v
}
