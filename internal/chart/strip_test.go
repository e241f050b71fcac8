package chart

import (
	"math"
	"testing"
)

// Three runs before, three after: the marks stand in the order of their
// values, each side with a mark of its own, and a bound reaches the edge.
func TestStripPlacesRunsByTheirValues(t *testing.T) {
	s := Strip{Title: "Single runs", Label: "settling time", Unit: "s", Rows: []StripRow{
		{Label: "as found", Side: "a", Runs: []StripRun{{3000, 2950, 3050}, {3100, 3100, math.Inf(1)}, {2900, 2880, 2920}}},
		{Label: "pair fitted", Side: "b", Runs: []StripRun{{1200, 1190, 1210}, {math.NaN(), 1000, 1400}}},
	}}
	for _, size := range []Size{Wide, Narrow} {
		p := LayoutStrip(s, size)
		marks := map[string][]Point{}
		var bars [][]Point
		for _, it := range p.Items {
			switch {
			case it.Kind == Symbols:
				marks[it.Side] = it.At
				if (it.Side == "b") != (it.Shape == Diamond) {
					t.Errorf("side %s has shape %v", it.Side, it.Shape)
				}
			case it.Class == "bars" && it.Side == "a":
				bars = it.Paths
			}
		}
		a, b := marks["a"], marks["b"]
		if len(a) != 3 || len(b) != 1 {
			t.Fatalf("%d and %d marks: an interval has a bar only", len(a), len(b))
		}
		if !(b[0].X < a[2].X && a[2].X < a[0].X && a[0].X < a[1].X) {
			t.Errorf("marks at %v and %v", a, b)
		}
		right := size.Width - 1.5*size.FontPx
		if open := bars[1][1].X; math.Abs(open-right) > 0.1 {
			t.Errorf("the open end is at %v, the edge at %v", open, right)
		}
		for _, it := range p.Items {
			if it.Kind == Text {
				if box := p.TextBox(it); box.X0 < -1 || box.X1 > p.Width+1 {
					t.Errorf("%q runs out of the picture: %v", it.Text, box)
				}
			}
		}
	}
}

func TestStripOfNothingIsAPicture(t *testing.T) {
	for _, s := range []Strip{{}, {Rows: []StripRow{{Label: "x", Side: "a"}}}, {Rows: []StripRow{{Runs: []StripRun{{0, 0, 0}, {math.NaN(), math.NaN(), math.Inf(-1)}}}}}} {
		if p := LayoutStrip(s, Wide); p.Height <= 0 || p.Width != Wide.Width {
			t.Errorf("picture of %v", s)
		}
	}
}
