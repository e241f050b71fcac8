package workshop

import (
	"fmt"
	"math"
	"slices"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/signal"
)

// overviewPlot is the course of a recording: its peaks and its rms level over
// time.
func overviewPlot(o *signal.Overview) measure.Plot {
	var x, lo, hi, rms, under []float64
	for i := range o.RMS {
		x = append(x, (float64(i)+0.5)*o.ColumnS)
		lo, hi = append(lo, o.Min[i]), append(hi, o.Max[i])
		rms, under = append(rms, o.RMS[i]), append(under, -o.RMS[i])
	}
	return measure.Plot{ID: "overview", Title: "Course",
		Caption: "Between the lowest and the highest sample, and the rms value either way; full scale is 1.",
		Alt:     "The course of the recording over time.",
		X:       measure.Axis{Label: "time", Unit: "s"}, Y: measure.Axis{Label: "part of full scale"},
		Layers: []measure.Layer{{Kind: measure.LayerBand, X: x, Lo: lo, Hi: hi}, {Kind: measure.LayerLine, X: x, Y: rms}, {Kind: measure.LayerLine, X: x, Y: under}}}
}

// spectrumPlot is the power density of a recording in dB re full scale in a
// hertz.
func spectrumPlot(s *signal.Spectrum, rec run.Recording) measure.Plot {
	x, y := densityCurve(s, rec)
	return measure.Plot{ID: "spectrum", Title: "Spectrum",
		Caption: fmt.Sprintf("Mean power density, full-scale sine 0 dBFS, in bands of 1 Hz; %d segments of %s, %s window.",
			s.Segments, printer.Told(float64(s.Segment)/s.RateHz, "s", 3), s.Window),
		Alt: "The mean power density of the recording over frequency.",
		X:   measure.Axis{Label: "frequency", Unit: "Hz"}, Y: measure.Axis{Label: "density in 1 Hz", Unit: "dBFS"},
		Layers: []measure.Layer{{Kind: measure.LayerLine, X: x, Y: y}}}
}

// densityCurve is a spectrum in dB up to where receivers have nothing more to
// say; what is not there at all is a gap.
func densityCurve(s *signal.Spectrum, rec run.Recording) (hz, db []float64) {
	for k := 1; k < len(s.Density) && float64(k)*s.DF() <= lookTop(rec); k++ {
		y := math.NaN()
		if s.Density[k] > 0 {
			y = 10*math.Log10(s.Density[k]) + sineDB
		}
		hz, db = append(hz, float64(k)*s.DF()), append(db, y)
	}
	return hz, db
}

// spectrogramPlot shows density over time and frequency, from the level that a
// fifth of the cells lie under to near the strongest.
func spectrogramPlot(g *signal.Spectrogram) measure.Plot {
	t := &measure.Tones{X1: float64(g.Columns) * g.ColumnS, Y0: g.FromHz, Y1: g.ToHz, Columns: g.Columns, Rows: g.Rows, Values: make([]float32, g.Columns*g.Rows)}
	var heard []float64
	for c := range g.Columns {
		for r := range g.Rows {
			db := g.DB[c*g.Rows+r] + sineDB
			t.Values[r*g.Columns+c] = float32(db)
			if g.DB[c*g.Rows+r] > signal.SilentDB {
				heard = append(heard, db)
			}
		}
	}
	t.Lo, t.Hi = toneSpan(heard)
	return measure.Plot{ID: "spectrogram", Title: "Spectrogram",
		Caption: fmt.Sprintf("The darker the stronger, from %s to %s in 1 Hz.", printer.Told(t.Lo, "dBFS", 3), printer.Told(t.Hi, "dBFS", 3)),
		Alt:     "Power density over time and frequency.",
		X:       measure.Axis{Label: "time", Unit: "s"}, Y: measure.Axis{Label: "frequency", Unit: "Hz"},
		Layers: []measure.Layer{{Kind: measure.LayerTones, Tones: t}}}
}

// sineDB is what a power re full-scale² must be raised by to be re that of a
// full-scale sine.
var sineDB = 10 * math.Log10(2)

// toneSpan is the range of levels that a picture shows.
func toneSpan(heard []float64) (lo, hi float64) {
	if len(heard) == 0 {
		return signal.SilentDB, 0
	}
	slices.Sort(heard)
	lo, hi = heard[len(heard)/5], heard[len(heard)*999/1000]
	return math.Round(math.Min(lo, hi-20)), math.Round(hi)
}
