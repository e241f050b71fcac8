package audio

import (
	"setwright/internal/measure"
	"setwright/quantity"
)

// responsePlot draws a response with its edges.
func (w *work) responsePlot(r response, method, title string) {
	p := measure.Plot{
		ID: "response_" + method, Title: title,
		Caption: "Output against modulation frequency at constant depth, from that at " + hertz(r.refHz) + "; bars hold 95 %.",
		Alt:     "Audio output in decibels against frequency, logarithmic",
		X:       measure.Axis{Label: "modulation frequency", Unit: "Hz", Log: true},
		Y:       measure.Axis{Label: "output", Unit: "dB", Offset: r.ref, OffsetLabel: "from " + hertz(r.refHz)},
	}
	line := measure.Layer{Kind: measure.LayerLine, Label: "response"}
	bars := measure.Layer{Kind: measure.LayerBars}
	k := quantity.Coverage(0.95, 1e6)
	for _, q := range r.points {
		y := q.dB
		line.X, line.Y = append(line.X, q.hz), append(line.Y, y)
		bars.X, bars.Y = append(bars.X, q.hz), append(bars.Y, y)
		bars.Lo, bars.Hi = append(bars.Lo, y-k*q.u), append(bars.Hi, y+k*q.u)
	}
	p.Layers = append(p.Layers, line, bars)
	for _, f := range w.out.Figures {
		if (f.ID == "audio_low" || f.ID == "audio_high") && f.Conditions["method"] == method && f.Kind == quantity.KindValue {
			p.Marks = append(p.Marks, measure.Mark{X: f.Value.Estimate(), Label: words(f)})
		}
	}
	w.out.Plots = append(w.out.Plots, p)
}

// powerPlot draws distortion against output.
func (w *work) powerPlot(all []loud, limit float64) {
	p := measure.Plot{
		ID: "power", Title: "Distortion against output", Caption: "Every setting of the volume; the limit is marked.",
		Alt: "Total harmonic distortion in per cent against output in watts",
		X:   measure.Axis{Label: "output", Unit: "W", Log: true}, Y: measure.Axis{Label: "distortion", Unit: "%"},
		Spans: []measure.Span{{Axis: "y", From: 0, To: 100 * limit, Label: "up to " + plain(100*limit) + " %"}},
	}
	points, line := measure.Layer{Kind: measure.LayerPoints}, measure.Layer{Kind: measure.LayerLine, Label: "distortion"}
	for _, l := range all {
		points.X, points.Y = append(points.X, l.watts), append(points.Y, 100*l.thd)
	}
	line.X, line.Y = points.X, points.Y
	p.Layers = append(p.Layers, line, points)
	w.out.Plots = append(w.out.Plots, p)
}
