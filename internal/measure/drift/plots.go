package drift

import (
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/quantity"
)

// curvePoints is how many points a drawn curve has.
const curvePoints = 240

// plots draws the record, its residuals and the Allan deviations.
func (w *work) plots() []measure.Plot {
	out := []measure.Plot{w.recordPlot()}
	if w.fit != nil {
		out = append(out, w.residualPlot())
	}
	if p, ok := w.allanPlot(); ok {
		out = append(out, p)
	}
	return out
}

// recordPlot shows every reading, the fit with its 95 % band, the bands of
// settling and the marks.
func (w *work) recordPlot() measure.Plot {
	closing := w.a.Closing.Value
	p := measure.Plot{
		ID: "record", Title: "Frequency from power-on",
		Caption: "Every reading" + map[bool]string{true: ", the fitted warm-up and its 95 % band", false: ""}[w.fit != nil] + ".",
		Alt:     "Frequency against time from power-on",
		X:       measure.Axis{Label: "time from power-on", Unit: "s"},
		Y:       measure.Axis{Label: "frequency", Unit: "Hz", Offset: closing, OffsetLabel: "from closing value"},
	}
	p.Layers = append(p.Layers, w.readingsLayer())
	if aside, ok := w.asideLayer(); ok {
		p.Layers = append(p.Layers, aside)
	}
	if w.fit != nil {
		p.Layers = append(p.Layers, w.fitLayers()...)
	}
	w.markSettling(&p, closing)
	for _, j := range w.a.Jumps {
		p.Marks = append(p.Marks, measure.Mark{X: j.TimeS, Label: "jump of " + quantity.FormatNumber(math.Round(j.SizeHz), "Hz")})
	}
	return p
}

// readingsLayer is every reading that took part.
func (w *work) readingsLayer() measure.Layer {
	return measure.Layer{Kind: measure.LayerPoints, X: w.a.TimeS, Y: w.a.FrequencyHz}
}

// asideLayer is the readings set aside, where they were; the chart keeps far-off
// ones from squashing the picture.
func (w *work) asideLayer() (measure.Layer, bool) {
	l := measure.Layer{Kind: measure.LayerAside, Label: "set aside"}
	for _, s := range w.a.Slips {
		l.X = append(l.X, s.TimeS)
		l.Y = append(l.Y, s.ValueHz)
	}
	return l, len(l.X) > 0
}

// fitLayers is the curve, with the jumps left in, and its band.
func (w *work) fitLayers() []measure.Layer {
	line := measure.Layer{Kind: measure.LayerLine, Label: "fitted warm-up"}
	band := measure.Layer{Kind: measure.LayerBand}
	first, last := w.a.TimeS[0], w.a.TimeS[len(w.a.TimeS)-1]
	k := quantity.Coverage(0.95, math.Max(w.fit.Effective-4, 1))
	for i := 0; i < curvePoints; i++ {
		// closer together at the start, where the curve bends
		part := float64(i) / (curvePoints - 1)
		at := first + (last-first)*part*part
		y, u := w.fit.At(at)+w.jumpedAt(at), w.fit.UAt(at)
		line.X, line.Y = append(line.X, at), append(line.Y, y)
		band.X, band.Lo, band.Hi = append(band.X, at), append(band.Lo, y-k*u), append(band.Hi, y+k*u)
	}
	return []measure.Layer{band, line}
}

// jumpedAt is what the jumps still to come take off a curve that was fitted to
// readings levelled to the last one.
func (w *work) jumpedAt(at float64) float64 {
	sum := 0.0
	for _, j := range w.a.Jumps {
		if j.TimeS > at {
			sum -= j.SizeHz
		}
	}
	return sum
}

// markSettling marks where the set stays within each band.
func (w *work) markSettling(p *measure.Plot, closing float64) {
	for _, s := range w.a.Settling {
		label := "±" + quantity.FormatNumber(s.BandHz, "Hz")
		p.Spans = append(p.Spans, measure.Span{Axis: "y", From: closing - s.BandHz, To: closing + s.BandHz, Label: label})
		f := w.figure("settling_time", plain(s.BandHz))
		if f == nil {
			continue
		}
		switch f.Kind {
		case quantity.KindValue:
			p.Marks = append(p.Marks, measure.Mark{X: s.Value, Label: label + ": " + words(*f)})
		case quantity.KindInterval:
			p.Spans = append(p.Spans, measure.Span{Axis: "x", From: f.Lo, To: f.Hi, Label: label + ": " + words(*f)})
		}
	}
}

// residualPlot shows what the fit leaves.
func (w *work) residualPlot() measure.Plot {
	l := measure.Layer{Kind: measure.LayerPoints, X: w.a.TimeS}
	for i, t := range w.a.TimeS {
		l.Y = append(l.Y, w.a.LevelledHz[i]-w.fit.At(t))
	}
	return measure.Plot{
		ID: "residuals", Title: "What the fit leaves",
		Caption: fmt.Sprintf("Readings less the fitted warm-up, jumps taken out; standard deviation %s.", quantity.FormatNumber(twoDigits(w.fit.SigmaHz), "Hz")),
		Alt:     "Residuals of the fit against time",
		X:       measure.Axis{Label: "time from power-on", Unit: "s"}, Y: measure.Axis{Label: "reading less fit", Unit: "Hz"},
		Layers: []measure.Layer{l},
	}
}

// allanPlot shows the deviations with their intervals.
func (w *work) allanPlot() (measure.Plot, bool) {
	layers := map[string]*measure.Layer{}
	var order []string
	for _, f := range w.out.Figures {
		if f.ID != "allan_deviation" || f.CI == nil {
			continue
		}
		kind := f.Conditions["kind"]
		if layers[kind] == nil {
			layers[kind] = &measure.Layer{Kind: measure.LayerBars, Label: kind}
			order = append(order, kind)
		}
		tau, err := measure.ParseNumber(f.Conditions["tau_s"], "s")
		if err != nil {
			continue
		}
		l := layers[kind]
		l.X, l.Y = append(l.X, tau), append(l.Y, f.Value.Estimate())
		l.Lo, l.Hi = append(l.Lo, f.CI[0]), append(l.Hi, f.CI[1])
	}
	p := measure.Plot{
		ID: "allan", Title: "Allan deviation of the settled part", Caption: "Two-sample deviation of the fractional frequency with 95 % intervals; no trend removed.",
		Alt: "Allan deviation against averaging time, both logarithmic",
		X:   measure.Axis{Label: "averaging time τ", Unit: "s", Log: true}, Y: measure.Axis{Label: "Allan deviation σy(τ)", Unit: "1", Log: true},
	}
	if w.beatNote() {
		p.Caption = "Two-sample deviation of the beat note with 95 % intervals; no trend removed."
		p.Y = measure.Axis{Label: "Allan deviation", Unit: "Hz", Log: true}
	}
	for _, kind := range order {
		p.Layers = append(p.Layers, *layers[kind])
	}
	return p, len(p.Layers) > 0
}

// twoDigits keeps two significant digits of a number that is only told.
func twoDigits(x float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	p := math.Pow(10, math.Floor(math.Log10(math.Abs(x)))-1)
	return math.Round(x/p) * p
}
