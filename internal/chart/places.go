package chart

import (
	"math"
	"strconv"

	"setwright/internal/measure"
	"setwright/quantity"
)

// Place is where a reading of a plot is drawn in each of several sizes, and
// what it says: for a readout that steps from reading to reading.
type Place struct {
	At   []Point // in px, one for each size
	Text string
}

// Places returns the places of the readings of a plot (its points, bars and
// readings set aside) in the given sizes, from left to right within each
// layer. Of more than most readings every second, third, ... is given, evenly.
// Readings that are not drawn are left out.
func Places(p measure.Plot, most int, sizes ...Size) []Place {
	var sheets []*sheet
	for _, size := range sizes {
		sheets = append(sheets, arrange(p, size))
	}
	n := 0
	for _, l := range p.Layers {
		if isReading(l.Kind) {
			n += len(l.X)
		}
	}
	step := 1
	if most > 0 && n > most {
		step = (n + most - 1) / most
	}
	var out []Place
	for _, l := range p.Layers {
		for i := 0; isReading(l.Kind) && i < min(len(l.X), len(l.Y)); i += step {
			if pl, ok := placeOf(sheets, l, i); ok {
				out = append(out, pl)
			}
		}
	}
	return out
}

func isReading(kind string) bool {
	return kind == measure.LayerPoints || kind == measure.LayerBars || kind == measure.LayerAside
}

// placeOf is the place of reading i of a layer; false where it is not drawn.
func placeOf(sheets []*sheet, l measure.Layer, i int) (Place, bool) {
	var pl Place
	for _, s := range sheets {
		at := s.at(l.X[i], l.Y[i])
		if !at.ok() {
			return pl, false
		}
		pl.At = append(pl.At, Point{tenth(at.X), tenth(at.Y)})
	}
	if len(sheets) == 0 {
		return pl, false
	}
	plot := sheets[0].plot
	pl.Text = valueText(plot.X, l.X[i]) + ", " + valueText(plot.Y, l.Y[i])
	if l.Kind == measure.LayerAside {
		pl.Text += ", set aside"
	}
	return pl, true
}

// valueText says a value of an axis: what is drawn, with four digits, and where
// that is a difference, the value itself.
func valueText(a measure.Axis, v float64) string {
	print := quantity.Printer{Group: true}
	if a.Offset == 0 {
		return print.Format(quantity.Exact(digits(v, 5)), a.Unit)
	}
	d := v - a.Offset
	sign := ""
	if d > 0 {
		sign = "+"
	}
	return sign + print.Format(quantity.Exact(digits(d, 4)), a.Unit) + " from " + a.OffsetLabel
}

// digits rounds to n significant digits.
func digits(v float64, n int) float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', n, 64), 64)
	if err != nil {
		return v
	}
	return short
}
