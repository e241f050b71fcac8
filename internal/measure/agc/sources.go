package agc

import (
	"math"

	"setwright/internal/measure"
	"setwright/quantity"
)

// sources are the named causes of uncertainty of one run's figures.
type sources struct {
	noise, step, between quantity.Source
	levels               []commonLevel
	swing                quantity.Source
	detector             quantity.Source
}

// newSources names the run's own sources and those of its generator. Two runs
// made with one generator in one calibration epoch share its source.
func newSources(raw measure.Raw, set agcSettings) sources {
	s := sources{
		noise:    quantity.RunSource(raw.RunID, "noise").Source("readings of the run", 0),
		step:     quantity.RunSource(raw.RunID, "attenuator settings").Source("single settings of the attenuator", 0),
		between:  quantity.RunSource(raw.RunID, "between levels").Source("course of the curve between levels", 0),
		detector: quantity.SourceKey{Kind: quantity.FromMethod, Of: "agc", Quantity: "settling"}.Source("moment of the step by the detector", 0),
		swing:    quantity.RunSource(raw.RunID, "input swing").Source("swing of the input", 0),
	}
	for _, in := range raw.Setup.Instruments {
		u := math.Hypot(in.Absolute, 20*math.Log10(1+in.Relative))
		if in.Reads != "input" || u == 0 {
			continue
		}
		key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Quantity: "level", Cell: in.Cell}
		s.levels = append(s.levels, commonLevel{key.Source("level of "+in.Name, in.DoF), u})
	}
	if len(s.levels) == 0 && !math.IsNaN(set.levelU) {
		key := quantity.RunSource(raw.RunID, "generator level") // nobody named it: it may be another one in another run
		s.levels = append(s.levels, commonLevel{key.Source("level of the generator", 0), set.levelU})
	}
	return s
}

// part is a contribution with the degrees of freedom of the estimate of u.
func (sources) part(src quantity.Source, c, dof float64) quantity.Contribution {
	if dof > 0 && !math.IsInf(dof, 1) {
		src.DoF = dof
	}
	return quantity.Contribution{Source: src, C: c}
}
