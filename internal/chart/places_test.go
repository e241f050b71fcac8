package chart

import (
	"math"
	"strings"
	"testing"

	"setwright/internal/measure"
)

// A readout must point at the readings where the picture shows them.
func TestPlacesAreWhereThePictureDrawsTheReadings(t *testing.T) {
	p := measure.Plot{X: measure.Axis{Unit: "s"}, Y: measure.Axis{Unit: "Hz", Offset: 7e6, OffsetLabel: "closing value"},
		Layers: []measure.Layer{{Kind: measure.LayerPoints, X: []float64{0, 60, 120}, Y: []float64{7e6 + 900, math.NaN(), 7e6 - 3}},
			{Kind: measure.LayerLine, X: []float64{0, 120}, Y: []float64{7e6, 7e6}}}}
	places := Places(p, 0, Wide, Narrow)
	if len(places) != 2 {
		t.Fatalf("%d places, want 2: a missing reading has none, a line none", len(places))
	}
	for k, size := range []Size{Wide, Narrow} {
		drawn := map[Point]bool{}
		for _, it := range Layout(p, size).Items {
			if it.Kind == Symbols {
				for _, q := range it.At {
					drawn[q] = true
				}
			}
		}
		for _, pl := range places {
			if !drawn[pl.At[k]] {
				t.Errorf("size %v: no reading is drawn at %v (drawn %v)", size, pl.At[k], drawn)
			}
		}
	}
	if !strings.HasPrefix(places[0].Text, "0 s, +900 Hz from closing") || !strings.Contains(places[1].Text, "−3 Hz") {
		t.Errorf("texts %q, %q", places[0].Text, places[1].Text)
	}
	if n := len(Places(p, 1, Wide)); n != 1 {
		t.Errorf("at most one: %d", n)
	}
}
