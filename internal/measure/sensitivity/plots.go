package sensitivity

import (
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/quantity"
	"setwright/superhet"
)

// curvePoints is how many points a drawn curve has.
const curvePoints = 160

// plots draws the curve, what the fit leaves, and the outputs themselves.
func (w *work) plots() []measure.Plot {
	if len(w.points) == 0 || len(w.fits) == 0 {
		return nil
	}
	out := []measure.Plot{w.curvePlot()}
	if len(w.points) > 2 { // fewer the law runs through
		out = append(out, w.residualPlot())
	}
	if p, ok := w.outputPlot(); ok {
		out = append(out, p)
	}
	return out
}

// emf is the EMF behind the dummy antenna of a level in microvolts, as the axis
// has it.
func (w *work) emf(dbm float64) float64 {
	return 1e6 * superhet.Level{DBm: quantity.Exact(dbm), SourceOhm: w.set.sourceOhm}.EMF().Estimate()
}

// inputAxis is the axis of all pictures.
func (w *work) inputAxis() measure.Axis {
	label := "EMF of the generator"
	if w.set.dummy.ID != "none" {
		label = "EMF behind the dummy antenna"
	}
	return measure.Axis{Label: label, Unit: "µV", Log: true}
}

// ratioName is what is plotted against the input.
func (w *work) ratioName() string {
	if w.set.mode == modeSINAD {
		return "SINAD"
	}
	return "(S+N)/N"
}

// curvePlot shows every reading with its uncertainty, the fitted law with its 95
// % band, and the marks.
func (w *work) curvePlot() measure.Plot {
	p := measure.Plot{
		ID: "curve", Title: w.ratioName() + " against input",
		Caption: "Every reading with two of its standard uncertainties, the fitted law and its 95 % band. Law: " + w.fits[0].words() + ".",
		Alt:     w.ratioName() + " in dB against the input level",
		X:       w.inputAxis(), Y: measure.Axis{Label: w.ratioName(), Unit: "dB"},
	}
	best := w.fits[0]
	bars := measure.Layer{Kind: measure.LayerBars}
	for _, pt := range w.sorted() {
		u := 2 * math.Max(best.scale, 1) * pt.u
		bars.X, bars.Y = append(bars.X, w.emf(pt.dBm)), append(bars.Y, pt.ratio)
		bars.Lo, bars.Hi = append(bars.Lo, pt.ratio-u), append(bars.Hi, pt.ratio+u)
	}
	lo, hi := w.span()
	line := measure.Layer{Kind: measure.LayerLine, Label: "fitted law"}
	if len(w.points) == 1 {
		line.Label = "assumed law"
	}
	band := measure.Layer{Kind: measure.LayerBand}
	k := quantity.Coverage(0.95, math.Max(float64(best.dof), 1))
	if !best.byScatter(w.readingKnown()) {
		k = quantity.Coverage(0.95, math.Inf(1))
	}
	for i := range curvePoints {
		at := lo - 1 + (hi-lo+2)*float64(i)/(curvePoints-1)
		y, u := best.ratioAt(at)
		x := w.emf(at)
		line.X, line.Y = append(line.X, x), append(line.Y, y)
		band.X, band.Lo, band.Hi = append(band.X, x), append(band.Lo, y-k*u), append(band.Hi, y+k*u)
	}
	p.Layers = []measure.Layer{band, line, bars}
	for _, t := range targets(w.set.mode) {
		if dbm, _, ok := best.levelAt(t.dB); ok && dbm >= lo-reachDB && dbm <= hi+reachDB {
			p.Marks = append(p.Marks, measure.Mark{X: w.emf(dbm), Y: t.dB, HasY: true, Label: told(t.dB, "dB") + ": " + told(1e-6*w.emf(dbm), "V")})
		}
	}
	return p
}

// sorted are the points by level.
func (w *work) sorted() []point {
	out := append([]point(nil), w.points...)
	sort.SliceStable(out, func(i, j int) bool { return out[i].dBm < out[j].dBm })
	return out
}

// residualPlot shows what the fit leaves.
func (w *work) residualPlot() measure.Plot {
	l := measure.Layer{Kind: measure.LayerPoints}
	for _, pt := range w.sorted() {
		l.X, l.Y = append(l.X, w.emf(pt.dBm)), append(l.Y, pt.ratio-w.fits[0].at(pt.dBm, w.fits[0].params))
	}
	return measure.Plot{
		ID: "residuals", Title: "What the fit leaves", Caption: "Readings less the fitted law; standard deviation " + told(w.scatterDB(), "dB") + ".",
		Alt: "Residuals of the fit against the input level", X: w.inputAxis(), Y: measure.Axis{Label: "reading less fit", Unit: "dB"},
		Layers: []measure.Layer{l},
	}
}

// outputPlot shows the two outputs.
func (w *work) outputPlot() (measure.Plot, bool) {
	on := measure.Layer{Kind: measure.LayerPoints, Label: "with signal"}
	off := measure.Layer{Kind: measure.LayerPoints, Side: measure.SideB, Label: "without"}
	for _, pt := range w.sorted() {
		if !math.IsNaN(pt.on) {
			on.X, on.Y = append(on.X, w.emf(pt.dBm)), append(on.Y, pt.on)
			off.X, off.Y = append(off.X, w.emf(pt.dBm)), append(off.Y, pt.off)
		}
	}
	return measure.Plot{
		ID: "outputs", Title: "Output with and without the signal", Caption: "The output without the signal should not go with the level in CW, and not fall in AM.",
		Alt: "Two outputs in dB against the input level", X: w.inputAxis(), Y: measure.Axis{Label: "output", Unit: "dB"},
		Layers: []measure.Layer{on, off},
	}, len(on.X) > 0
}
