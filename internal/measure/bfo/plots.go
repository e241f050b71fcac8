package bfo

import (
	"math"

	"setwright/internal/measure"
)

// plots draws the readings and, where the passband is known, how the signals
// lie in it.
func (w *work) plots() []measure.Plot {
	out := []measure.Plot{w.readingsPlot()}
	if w.advice != nil {
		out = append(out, w.passbandPlot())
	}
	return out
}

// readingsPlot shows every reading against the control, else against time,
// else in order.
func (w *work) readingsPlot() measure.Plot {
	x := measure.Axis{Label: "reading", Unit: "1"}
	first := w.d.places[0].readings[0]
	at := func(r reading, i int) float64 { return float64(r.row + 1) }
	switch {
	case !math.IsNaN(first.position):
		x = measure.Axis{Label: "position of the control", Unit: "1"}
		at = func(r reading, _ int) float64 { return r.position }
	case !math.IsNaN(first.timeS):
		x = measure.Axis{Label: "time", Unit: "s"}
		at = func(r reading, _ int) float64 { return r.timeS }
	}
	p := measure.Plot{ID: "bfo", Title: "BFO from the middle of the passband", Caption: "Every reading.", Alt: "BFO frequency less the middle of the passband",
		X: x, Y: measure.Axis{Label: "BFO less middle", Unit: "Hz"}}
	for _, place := range w.d.places {
		points := measure.Layer{Kind: measure.LayerPoints}
		for i, r := range place.readings {
			points.X, points.Y = append(points.X, at(r, i)), append(points.Y, r.hz)
		}
		p.Layers = append(p.Layers, points)
		if n := len(place.readings); w.drifting && n >= leastReadings && x.Unit == "s" {
			p.Layers = append(p.Layers, w.driftLine(place))
		}
	}
	if w.set.hasPassband() {
		p.Spans = append(p.Spans, measure.Span{Axis: "y", From: w.set.passLow, To: w.set.passHigh, Label: "passband"})
	}
	return p
}

// driftLine is the fitted slope through one setting.
func (w *work) driftLine(p place) measure.Layer {
	var mt, m float64
	n := float64(len(p.readings))
	for _, r := range p.readings {
		mt, m = mt+r.timeS/n, m+r.hz/n
	}
	l := measure.Layer{Kind: measure.LayerLine, Label: "fitted drift"}
	for _, t := range []float64{p.readings[0].timeS, p.readings[len(p.readings)-1].timeS} {
		l.X, l.Y = append(l.X, t), append(l.Y, m+w.drift.hzPerS*(t-mt))
	}
	return l
}

// passbandPlot shows where the signals lie in the passband, one line each, with
// the BFO's place on it.
func (w *work) passbandPlot() measure.Plot {
	p := measure.Plot{ID: "sidebands", Title: "Signals in the passband", Caption: "Each kind of signal as it lies in the passband with the BFO set as advised; the dot is the BFO.",
		Alt: "Passband with the bands of USB, LSB and CW and the places of the BFO",
		X:   measure.Axis{Label: "from the middle of the passband", Unit: "Hz"}, Y: measure.Axis{Label: "kind of signal", Unit: "1"},
		Spans: []measure.Span{{Axis: "x", From: w.set.passLow, To: w.set.passHigh, Label: "passband"}}}
	dots := measure.Layer{Kind: measure.LayerPoints}
	for i, a := range w.advice {
		y := float64(len(w.advice) - i)
		p.Layers = append(p.Layers, measure.Layer{Kind: measure.LayerLine, Label: a.Mode, X: []float64{a.BFO, a.Low, a.High}, Y: []float64{y, y, y}})
		dots.X, dots.Y = append(dots.X, a.BFO), append(dots.Y, y)
	}
	p.Layers = append(p.Layers, dots)
	return p
}
