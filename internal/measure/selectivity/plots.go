package selectivity

import (
	"math"

	"setwright/internal/measure"
	"setwright/quantity"
)

// plots draws the curve, the passband's top and what the fit leaves.
func (w *work) plots() []measure.Plot {
	out := []measure.Plot{w.curvePlot(), w.topPlot()}
	if !w.c.known {
		out = append(out, w.residualPlot())
	}
	return out
}

// axis is the frequency axis: from the nominal frequency where it is known.
func (w *work) axis() measure.Axis {
	a := measure.Axis{Label: "frequency", Unit: "Hz"}
	switch {
	case w.c.offsets:
		a.Label = "offset"
	case w.c.mirrored:
		a.Label = "audio frequency"
	case !math.IsNaN(w.c.nominal) && w.c.nominal != 0:
		a.Offset, a.OffsetLabel = w.c.nominal, "from nominal"
	case math.IsNaN(w.c.nominal):
		a.Offset, a.OffsetLabel = w.r.TopHz, "from the maximum"
	}
	return a
}

// curvePlot shows every point, the fitted curve with its 95 % band and the
// levels 6 and 60 dB down.
func (w *work) curvePlot() measure.Plot {
	hz, db, u := w.r.Fitted()
	line := measure.Layer{Kind: measure.LayerLine, Label: "fitted curve", X: hz, Y: db}
	band := measure.Layer{Kind: measure.LayerBand, X: hz}
	for i := range hz {
		band.Lo, band.Hi = append(band.Lo, db[i]-1.96*u[i]), append(band.Hi, db[i]+1.96*u[i])
	}
	p := measure.Plot{
		ID: "selectivity", Title: "Selectivity curve", Caption: "Every reading, the fitted curve and its 95 % band.",
		Alt: "Response in decibels below its maximum against frequency",
		X:   w.axis(), Y: measure.Axis{Label: "response", Unit: "dB"},
		Layers: []measure.Layer{band, line, w.pointLayer(math.Inf(-1))},
	}
	for _, down := range []float64{6, 60} {
		e := w.r.Edge(down)
		if e.LoReached {
			p.Marks = append(p.Marks, measure.Mark{X: e.Lo, Y: -down, HasY: true})
		}
		if e.HiReached {
			label := "−" + quantity.FormatNumber(down, "dB")
			if f := w.figure("bandwidth_"+map[float64]string{6: "6", 60: "60"}[down], ""); f != nil {
				label += ": " + words(f)
			}
			p.Marks = append(p.Marks, measure.Mark{X: e.Hi, Y: -down, HasY: true, Label: label})
		}
	}
	return p
}

// pointLayer is every point above a level, less the maximum of the fit.
func (w *work) pointLayer(above float64) measure.Layer {
	l := measure.Layer{Kind: measure.LayerPoints}
	for _, p := range w.fit.Points {
		if y := p.DB - w.r.Top; y >= above {
			l.X, l.Y = append(l.X, p.Hz), append(l.Y, y)
		}
	}
	return l
}

// topPlot shows the uppermost 12 dB.
func (w *work) topPlot() measure.Plot {
	p := w.curvePlot()
	p.ID, p.Title, p.Caption = "passband", "Top of the passband", "The same, down to 12 dB below the maximum."
	p.Layers = []measure.Layer{cut(p.Layers[0], -12), cut(p.Layers[1], -12), w.pointLayer(-12)}
	p.Marks = nil
	if e := w.r.Edge(6); e.Reached() {
		p.Spans = append(p.Spans, measure.Span{Axis: "x", From: e.Lo, To: e.Hi, Label: "−6 dB"})
	}
	return p
}

// cut keeps what lies above a level; a gap breaks a line.
func cut(l measure.Layer, above float64) measure.Layer {
	out := measure.Layer{Kind: l.Kind, Label: l.Label}
	for i, x := range l.X {
		low := l.Lo
		if l.Kind == measure.LayerLine {
			low = l.Y
		}
		if low[i] < above {
			continue
		}
		out.X = append(out.X, x)
		if l.Kind == measure.LayerLine {
			out.Y = append(out.Y, l.Y[i])
			continue
		}
		out.Lo, out.Hi = append(out.Lo, l.Lo[i]), append(out.Hi, l.Hi[i])
	}
	return out
}

// residualPlot shows what the fit leaves.
func (w *work) residualPlot() measure.Plot {
	l := measure.Layer{Kind: measure.LayerPoints}
	for _, p := range w.fit.Points {
		l.X, l.Y = append(l.X, p.Hz), append(l.Y, p.DB-w.fit.At(p.Hz))
	}
	return measure.Plot{
		ID: "residuals", Title: "What the fit leaves", Caption: "Readings less the fitted curve.", Alt: "Residuals of the fit against frequency",
		X: w.axis(), Y: measure.Axis{Label: "reading less fit", Unit: "dB"}, Layers: []measure.Layer{l},
	}
}
