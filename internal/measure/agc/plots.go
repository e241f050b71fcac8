package agc

import (
	"setwright/internal/measure"
)

// curvePoints is how many points a drawn curve has.
const curvePoints = 160

// staticPlots draws the static curve with every reading.
func (w *work) staticPlots() []measure.Plot {
	if w.st == nil {
		return nil
	}
	c := w.st.curve
	p := measure.Plot{
		ID: "static", Title: "Output against input",
		Caption: "Every reading, the monotone curve through them and its 95 % band, settled, carrier modulated.",
		Alt:     "Audio output in decibels against input level in dBm",
		X:       measure.Axis{Label: "input level", Unit: "dBm"},
		Y:       measure.Axis{Label: "output", Unit: "dB", Offset: c.y[len(c.y)-1], OffsetLabel: "from that at the highest level"},
	}
	band, line := measure.Layer{Kind: measure.LayerBand}, measure.Layer{Kind: measure.LayerLine, Label: "curve"}
	for i := range curvePoints {
		x := c.lowest() + (c.highest()-c.lowest())*float64(i)/(curvePoints-1)
		lo, hi := w.budget.heights(x)
		band.X, band.Lo, band.Hi = append(band.X, x), append(band.Lo, lo), append(band.Hi, hi)
	}
	line.X, line.Y = c.x, c.y
	points := measure.Layer{Kind: measure.LayerPoints}
	points.X, points.Y = columnsOf(w.st.readings)
	p.Layers = append(p.Layers, band, line, points)
	if aside := w.asideLayer(); len(aside.X) > 0 {
		p.Layers = append(p.Layers, aside)
	}
	w.markStatic(&p)
	return []measure.Plot{p}
}

// asideLayer is the readings set aside, where they were.
func (w *work) asideLayer() measure.Layer {
	l := measure.Layer{Kind: measure.LayerAside, Label: "set aside"}
	in := w.raw.Series.Column("input")
	for _, s := range w.out.SetAside {
		for i := range in.Values {
			if rawRow(w.raw, i) != s.Row {
				continue
			}
			if x, err := w.set.source.dBm(in.Values[i], in.Unit); err == nil {
				l.X, l.Y = append(l.X, x), append(l.Y, s.Value)
			}
		}
	}
	return l
}

// markStatic marks the knee and where the output has fallen by 10 dB.
func (w *work) markStatic(p *measure.Plot) {
	if f := w.figure("agc_knee", "", ""); f != nil && !w.knee.under && !w.knee.above {
		p.Marks = append(p.Marks, measure.Mark{X: w.knee.at, Label: "knee " + words(*f)})
	}
	if f := w.figure("agc_merit", "", ""); f != nil {
		for _, d := range f.Details {
			if d.ID == "falls_to" && d.Value != nil {
				p.Marks = append(p.Marks, measure.Mark{X: *d.Value, Label: minus("-"+f.Conditions["drop_db"]) + " dB"})
			}
		}
	}
	if f := w.figure("agc_spread", "", ""); f != nil {
		p.Spans = append(p.Spans, measure.Span{Axis: "x", From: w.set.spreadFrom, To: w.set.spreadTo, Label: "range of the spread"})
	}
}
