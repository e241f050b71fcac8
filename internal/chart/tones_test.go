package chart

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"setwright/internal/measure"
)

// sweep is a spectrogram of a tone that rises through faint noise.
func sweep() measure.Plot {
	t := &measure.Tones{X1: 60, Y1: 4000, Columns: 600, Rows: 100, Lo: -90, Hi: -20}
	for row := range t.Rows {
		for c := range t.Columns {
			d := float64(row) - 20 - 60*float64(c)/600
			noise := 10 * math.Abs(math.Sin(float64(row*7919+c*104729)))
			t.Values = append(t.Values, float32(-85+noise+60*math.Exp(-d*d/2)))
		}
	}
	return measure.Plot{ID: "spectrogram", Title: "Spectrogram", Alt: "A tone that rises from 800 to 3200 Hz.",
		X: measure.Axis{Label: "time", Unit: "s"}, Y: measure.Axis{Label: "frequency", Unit: "Hz"},
		Layers: []measure.Layer{{Kind: measure.LayerTones, Tones: t}},
		Spans:  []measure.Span{{Axis: "x", From: 20, To: 30, Label: "tone"}}}
}

// A spectrogram is as small as a page wants it, follows the page's colours and
// shows its thin line in a narrow drawing too.
func TestSpectrogramOnPageAndInFiles(t *testing.T) {
	p := sweep()
	svg := string(Inline(p, "s"))
	if strings.Count(svg, "<mask") != 2 || !strings.Contains(svg, `mask="url(#s`) || len(svg) > 150_000 {
		t.Errorf("%d bytes of SVG, %d masks", len(svg), strings.Count(svg, "<mask"))
	}
	for _, format := range []string{"svg", "png", "pdf"} {
		var b bytes.Buffer
		if err := File([]measure.Plot{p}, format, &b); err != nil || b.Len() < 2000 {
			t.Errorf("%s: %d bytes, %v", format, b.Len(), err)
		}
	}
	narrow := Layout(p, Narrow)
	for _, it := range narrow.Items {
		if it.Kind != Tone {
			continue
		}
		dark := 0
		for x := range it.Cells.Rect.Dx() {
			for y := range it.Cells.Rect.Dy() {
				if it.Cells.GrayAt(x, y).Y > 180 {
					dark++
					break
				}
			}
		}
		if dark < it.Cells.Rect.Dx()*9/10 {
			t.Errorf("the line shows in %d of %d columns", dark, it.Cells.Rect.Dx())
		}
		return
	}
	t.Error("no grid in the narrow drawing")
}

func TestGridOfNothingKnownDrawsNothing(t *testing.T) {
	p := sweep()
	for i := range p.Layers[0].Tones.Values {
		p.Layers[0].Tones.Values[i] = float32(math.NaN())
	}
	var b bytes.Buffer
	if err := File([]measure.Plot{p}, "png", &b); err != nil {
		t.Fatal(err)
	}
	p.Layers[0].Tones.Values = nil
	if err := File([]measure.Plot{p}, "svg", &b); err != nil {
		t.Fatal(err)
	}
}
