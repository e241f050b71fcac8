package sensitivity

import (
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/noise"
	"setwright/quantity"
	"setwright/superhet"
)

// DeriveMethod names the method of the derived figures.
const DeriveMethod = "noise-figure/1"

var noiseFigureSpec = measure.FigureSpec{ID: "noise_figure", Title: "noise figure", Unit: "dB", Better: "smaller",
	Matters: 2, Why: whyTwoDB, Spread: 1,
	Help: "What the set's own noise adds to that of the source, from its sensitivity and its noise bandwidth; sets of unequal width are compared on it."}

var marginSpec = measure.FigureSpec{ID: "margin_external", Title: "noise rise to be expected", Unit: "dB", Better: "larger",
	Matters: 2, Why: "2 dB is a third of an S-unit; from 10 dB up more is worth nothing",
	Help: "By how much the noise would rise on a short lossless antenna in the surroundings stated, by ITU-R P.372 and the noise figure. From 10 dB up more sensitivity is worth nothing."}

// Derivations are the figures that follow from others: the noise figure from a
// sensitivity and a noise bandwidth, and the margin over external noise from the
// noise figure.
func Derivations() []measure.Derivation {
	var out []measure.Derivation
	for _, from := range noiseFigureTakes {
		out = append(out, measure.Derivation{ID: "noise_figure_from_" + from, Takes: []string{from, "noise_bandwidth"},
			Gives: []measure.FigureSpec{noiseFigureSpec}, Derive: noiseFigureFrom(from)})
	}
	return append(out, measure.Derivation{ID: "margin_external", Takes: []string{"noise_figure", "external_noise"},
		Gives: []measure.FigureSpec{marginSpec}, Derive: marginExternal})
}

// noiseFigureTakes are the sensitivities that a noise figure follows from, the
// best first: the noise floor needs the least of the detector's law.
var noiseFigureTakes = []string{"mds", "sensitivity_cw", "sensitivity_am"}

// bestSensitivity is the one that counts: the first that is a value, else the
// first that is given at all.
func bestSensitivity(figures []run.Figure) string {
	first := ""
	for _, id := range noiseFigureTakes {
		f := find(figures, id)
		if f != nil && f.Kind == quantity.KindValue {
			return id
		}
		if f != nil && first == "" {
			first = id
		}
	}
	return first
}

// noiseFigureFrom derives the noise figure from a sensitivity, where that is the
// one that counts and the noise figure is not there already.
func noiseFigureFrom(id string) func([]run.Figure) ([]run.Figure, error) {
	return func(figures []run.Figure) ([]run.Figure, error) {
		level, width := find(figures, id), find(figures, "noise_bandwidth")
		if find(figures, "noise_figure") != nil || bestSensitivity(figures) != id || level == nil || width == nil || width.Kind != quantity.KindValue {
			return nil, nil
		}
		resistance, known := sourceResistance(*level)
		if !known {
			return nil, nil // behind a dummy antenna at a frequency that is not stated
		}
		over, ok := detail(*level, "target")
		if !ok {
			return nil, nil
		}
		dbm := superhet.AvailableDBm(level.Value, resistance)
		nf := noise.FigureFromLevel(dbm, width.Value, over)
		if id == "sensitivity_am" {
			nf = noise.FigureFromAM(dbm, width.Value, quantity.Exact(standardDepth), over)
		}
		f := run.Figure{ID: "noise_figure", Unit: "dB", Method: DeriveMethod, Conditions: level.Conditions,
			Outcome: quantity.Outcome{Kind: level.Kind, Bound: level.Bound, Value: nf},
			Details: []run.Detail{run.Text("from", id), run.Number("noise_bandwidth", "Hz", width.Value.Estimate())}}
		if level.Kind != quantity.KindValue && level.Kind != quantity.KindBound {
			return nil, nil
		}
		return []run.Figure{f}, nil
	}
}

// marginExternal derives the rise of noise to be expected on an antenna.
func marginExternal(figures []run.Figure) ([]run.Figure, error) {
	nf, outside := find(figures, "noise_figure"), find(figures, "external_noise")
	if nf == nil || outside == nil || find(figures, "margin_external") != nil || outside.Kind != quantity.KindValue {
		return nil, nil
	}
	o := quantity.Outcome{Kind: nf.Kind, Value: noise.Rise(outside.Value, nf.Value)}
	switch nf.Bound { // a noisier set sees less of a rise
	case quantity.MoreThan:
		o.Bound = quantity.LessThan
	case quantity.LessThan:
		o.Bound = quantity.MoreThan
	}
	f := run.Figure{ID: "margin_external", Unit: "dB", Method: DeriveMethod, Conditions: outside.Conditions, Outcome: o,
		Details: []run.Detail{run.Text("antenna", "short and lossless"), run.Number("noise_figure", "dB", nf.Value.Estimate())}}
	if why := enough(o.Value); why != "" && o.Kind == quantity.KindValue {
		f.Details = append(f.Details, run.Text("why", why))
	}
	return []run.Figure{f}, nil
}

// sourceResistance is the resistance of generator and dummy antenna that a
// level stands behind, with the tolerance of the dummy's parts.
func sourceResistance(f run.Figure) (quantity.Value, bool) {
	for _, d := range f.Details {
		if d.ID != "source_resistance" || d.Value == nil {
			continue
		}
		v := quantity.Exact(*d.Value)
		if d.U != nil {
			key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: "dummy antenna " + f.Conditions["dummy"], Quantity: "resistance", Cell: f.Conditions["dial_hz"]}
			v = v.With(quantity.Contribution{Source: key.Source("resistance of the dummy antenna", 0), C: *d.U})
		}
		return v, true
	}
	return quantity.Value{}, false
}

// detail is a number among the details of a figure.
func detail(f run.Figure, id string) (float64, bool) {
	for _, d := range f.Details {
		if d.ID == id && d.Value != nil {
			return *d.Value, !math.IsNaN(*d.Value)
		}
	}
	return 0, false
}

func find(figures []run.Figure, id string) *run.Figure {
	for i := range figures {
		if figures[i].ID == id {
			return &figures[i]
		}
	}
	return nil
}
