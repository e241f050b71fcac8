package chart

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"setwright/internal/measure"
)

// pictures is every picture of the gallery in every size.
func pictures() map[string]*Picture {
	out := map[string]*Picture{}
	sizes := map[string]Size{"wide": Wide, "narrow": Narrow, "low": Low, "low narrow": LowNarrow}
	for name, size := range sizes {
		for _, p := range gallery() {
			out[p.ID+" "+name] = Layout(p, size)
		}
		out["states "+name] = LayoutTimeline(history(), size)
		out["no states "+name] = LayoutTimeline(Timeline{}, size)
	}
	out["stack"] = Stack(gallery())
	out["empty stack"] = Stack(nil)
	return out
}

// faults lists what is wrong with a picture: text over text or cut off at an
// edge, and shapes outside.
func faults(p *Picture) []string {
	var out []string
	whole := Box{0, 0, p.Width, p.Height}
	var boxes []Box
	var texts []string
	for _, it := range p.Items {
		if it.Kind == Text {
			b := p.TextBox(it)
			if !b.Within(whole) {
				out = append(out, fmt.Sprintf("%q cut off: %v", it.Text, b))
			}
			for i, o := range boxes {
				if b.Overlaps(o) {
					out = append(out, fmt.Sprintf("%q over %q", it.Text, texts[i]))
				}
			}
			boxes, texts = append(boxes, b), append(texts, it.Text)
			continue
		}
		for _, path := range append(slices.Clone(it.Paths), it.At) {
			for _, q := range path {
				if !(q.X >= -1 && q.X <= p.Width+1 && q.Y >= -1 && q.Y <= p.Height+1) {
					out = append(out, fmt.Sprintf("%s outside: %v", it.Class, q))
				}
			}
		}
	}
	return out
}

func TestTextStandsClearAndWhole(t *testing.T) {
	for name, p := range pictures() {
		for _, f := range faults(p) {
			t.Errorf("%s: %s", name, f)
		}
	}
}

func textsOf(p *Picture, class string) []string {
	var out []string
	for _, it := range p.Items {
		if it.Kind == Text && (class == "" || it.Class == class) {
			out = append(out, it.Text)
		}
	}
	return out
}

func count1(p *Picture, class string) (symbols, paths int) {
	for _, it := range p.Items {
		if it.Class == class {
			symbols += len(it.At)
			paths += len(it.Paths)
		}
	}
	return symbols, paths
}

// A settling mark is what the owner looks for: each has its line and its
// words, on a desk screen and on a telephone.
func TestEveryMarkIsNamed(t *testing.T) {
	for _, plot := range []measure.Plot{warmUp(), comparison()} {
		for _, size := range []Size{Wide, Narrow} {
			p := Layout(plot, size)
			names := textsOf(p, "name")
			for _, m := range plot.Marks {
				if !slices.Contains(names, m.Label) {
					t.Errorf("%s, %g px: mark %q has no label; there are %q", plot.ID, size.Width, m.Label, names)
				}
			}
			if _, lines := count1(p, "settle"); lines != len(plot.Marks) {
				t.Errorf("%s, %g px: %d mark lines for %d marks", plot.ID, size.Width, lines, len(plot.Marks))
			}
		}
	}
}

func TestEveryReadingIsDrawn(t *testing.T) {
	if n, _ := count1(Layout(warmUp(), Wide), "under"); n != 360 {
		t.Errorf("%d dots for 360 readings", n)
	}
	dots, _ := count1(Layout(comparison(), Wide), "dot")
	rings, _ := count1(Layout(comparison(), Wide), "ring")
	if dots != 3*46+2 || rings != 3*46 { // and a dot at each mark
		t.Errorf("%d dots and %d diamonds for three runs of 46 a side", dots, rings)
	}
}

func TestMarkReachesTheAxis(t *testing.T) {
	p := Layout(comparison(), Wide)
	axis := p.Items[slices.IndexFunc(p.Items, func(it Item) bool { return it.Class == "axis" })]
	base := axis.Paths[len(axis.Paths)-1][0].Y
	for _, it := range p.Items {
		if it.Class == "settle" && it.Paths[0][1].Y != base {
			t.Errorf("mark ends at %v, the axis is at %v", it.Paths[0][1].Y, base)
		}
	}
}

func plotOf(x, y []float64) measure.Plot {
	return measure.Plot{Title: "t", X: measure.Axis{Unit: "s"}, Y: measure.Axis{Unit: "Hz"},
		Layers: []measure.Layer{{Kind: measure.LayerLine, X: x, Y: y}, {Kind: measure.LayerPoints, X: x, Y: y}}}
}

func TestGapsBreakLines(t *testing.T) {
	nan := math.NaN()
	p := Layout(plotOf([]float64{0, 1, 2, 3, 4, 5}, []float64{1, 2, nan, 3, nan, 4}), Wide)
	_, lines := count1(p, "line")
	dots, _ := count1(p, "under")
	if lines != 3 || dots != 4 {
		t.Errorf("%d stretches of line and %d dots, want 3 and 4", lines, dots)
	}
}

func TestNothingToDrawIsSaid(t *testing.T) {
	for _, plot := range []measure.Plot{{}, empty(), plotOf([]float64{math.NaN()}, []float64{1}), plotOf(nil, nil)} {
		p := Layout(plot, Wide)
		if !slices.Contains(textsOf(p, "note"), "no readings to draw") {
			t.Errorf("%+v: texts are %q", plot, textsOf(p, ""))
		}
		if len(textsOf(p, "tick")) > 2 {
			t.Errorf("numbers on an axis without data: %q", textsOf(p, "tick"))
		}
	}
}

func TestOneReadingAndAllTheSame(t *testing.T) {
	for _, y := range [][]float64{{7.0651e6}, {7.0651e6, 7.0651e6, 7.0651e6}, {0, 0}, {-5}} {
		x := make([]float64, len(y))
		for i := range x {
			x[i] = float64(60 * i)
		}
		p := Layout(plotOf(x, y), Wide)
		if dots, _ := count1(p, "under"); dots != len(y) {
			t.Errorf("%v: %d dots", y, dots)
		}
		if f := faults(p); f != nil {
			t.Errorf("%v: %v", y, f)
		}
		if len(textsOf(p, "tick")) < 4 {
			t.Errorf("%v: numbers %q", y, textsOf(p, "tick"))
		}
	}
}

func TestLogAxisLeavesOutAndSaysSo(t *testing.T) {
	plot := plotOf([]float64{1, 2, 4, 8}, []float64{1e-9, 0, -1e-9, 2e-9})
	plot.Y = measure.Axis{Unit: "1", Log: true}
	plot.Layers = plot.Layers[1:]
	p := Layout(plot, Wide)
	if !slices.Contains(textsOf(p, "note"), "2 values at or below zero, not on this axis") {
		t.Errorf("notes are %q", textsOf(p, "note"))
	}
	if dots, _ := count1(p, "dot"); dots != 2 {
		t.Errorf("%d dots", dots)
	}
}

func TestBarDownToZeroEndsAtTheEdgeOfALogAxis(t *testing.T) {
	p := Layout(measure.Plot{Y: measure.Axis{Log: true}, Layers: []measure.Layer{{Kind: measure.LayerBars,
		X: []float64{1, 2}, Y: []float64{1, 2}, Lo: []float64{0, 1}, Hi: []float64{3, 4}}}}, Wide)
	if _, strokes := count1(p, "bars"); strokes != 6 {
		t.Errorf("%d strokes for two bars with caps", strokes)
	}
	if f := faults(p); f != nil {
		t.Error(f)
	}
}

// A wide tolerance must not flatten a quiet set's drift.
func TestWideSpanDoesNotFlattenTheData(t *testing.T) {
	plot := plotOf([]float64{0, 100, 200}, []float64{0, 3, 5})
	plot.Spans = []measure.Span{{Axis: "y", From: -500, To: 500, Label: "±500 Hz"}}
	p := Layout(plot, Wide)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, it := range p.Items {
		if it.Class == "line" {
			for _, q := range it.Paths[0] {
				lo, hi = min(lo, q.Y), max(hi, q.Y)
			}
		}
	}
	if hi-lo < 150 {
		t.Errorf("the curve takes %.0f px", hi-lo)
	}
}

func TestSpread(t *testing.T) {
	for _, c := range []struct{ at, want []float64 }{
		{[]float64{100}, []float64{100}},
		{[]float64{100, 104}, []float64{92, 112}},           // about their own middle
		{[]float64{100, 104, 200}, []float64{92, 112, 200}}, // the third is not moved
		{[]float64{298, 300}, []float64{280, 300}},          // not over the end
		{[]float64{0, 0, 0}, []float64{0, 20, 40}},
	} {
		got := slices.Clone(c.at)
		if spread(got, 20, 0, 300); !slices.Equal(got, c.want) {
			t.Errorf("%v spread to %v, want %v", c.at, got, c.want)
		}
	}
}

func TestSpreadKeepsOrderAndRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SliceOfN(rapid.Float64Range(0, 300), 1, 8).Draw(t, "at")
		slices.Sort(at)
		spread(at, 17, 0, 300)
		for i, y := range at {
			if y < -1e-6 || y > 300+1e-6 || i > 0 && y-at[i-1] < 17-1e-6 {
				t.Fatalf("spread to %v", at)
			}
		}
	})
}

// Whatever comes in, a picture comes out: finite places, whole texts.
func TestAnyPlotGivesAPicture(t *testing.T) {
	number := rapid.OneOf(rapid.Float64Range(-1e4, 1e4), rapid.Float64(),
		rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), 7.065e6, 1e-9, 1e300, -1e300, 5e-324}))
	numbers := rapid.SliceOfN(number, 0, 12)
	label := rapid.SampledFrom([]string{"", "as found", "a label far too long for any picture of this kind, by a good deal, whatever its size may be, and then some", "<&>\"\x00\xff"})
	kinds := []string{measure.LayerPoints, measure.LayerLine, measure.LayerBand, measure.LayerBars, measure.LayerAside, measure.LayerHist, "?"}
	sides := rapid.SampledFrom([]string{measure.SideNone, measure.SideA, measure.SideB})
	axis := func(t *rapid.T) measure.Axis {
		return measure.Axis{Label: label.Draw(t, "axis"), Unit: rapid.SampledFrom([]string{"", "1", "s", "Hz", "dB"}).Draw(t, "unit"),
			Log: rapid.Bool().Draw(t, "log"), Offset: rapid.SampledFrom([]float64{0, 7.065e6, -3}).Draw(t, "offset"), OffsetLabel: label.Draw(t, "from")}
	}
	rapid.Check(t, func(t *rapid.T) {
		p := measure.Plot{Title: label.Draw(t, "title"), X: axis(t), Y: axis(t)}
		for range rapid.IntRange(0, 3).Draw(t, "layers") {
			p.Layers = append(p.Layers, measure.Layer{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Side: sides.Draw(t, "side"), Label: label.Draw(t, "label"),
				X: numbers.Draw(t, "x"), Y: numbers.Draw(t, "y"), Lo: numbers.Draw(t, "lo"), Hi: numbers.Draw(t, "hi")})
		}
		for range rapid.IntRange(0, 3).Draw(t, "marks") {
			p.Marks = append(p.Marks, measure.Mark{X: number.Draw(t, "mx"), Y: number.Draw(t, "my"), HasY: rapid.Bool().Draw(t, "has"), Label: label.Draw(t, "mark")})
			p.Spans = append(p.Spans, measure.Span{Axis: rapid.SampledFrom([]string{"x", "y"}).Draw(t, "of"), From: number.Draw(t, "sf"), To: number.Draw(t, "st"), Label: label.Draw(t, "span")})
		}
		size := rapid.SampledFrom([]Size{Wide, Narrow, LowNarrow}).Draw(t, "size")
		if f := faults(Layout(p, size)); f != nil {
			t.Fatalf("%.600s", strings.Join(f, "\n"))
		}
	})
}

// A double count at twice the frequency must be seen, but must not flatten the
// rest of the record.
func TestReadingSetAsideFarOffIsShownAtTheEdge(t *testing.T) {
	plot := residuals() // one aside near the others, one far above
	p := Layout(plot, Wide)
	near, _ := count1(p, "aside")
	off, _ := count1(p, "off")
	if near != 1 || off != 1 {
		t.Errorf("%d readings set aside in place and %d at the edge, want 1 and 1", near, off)
	}
	if !slices.Contains(textsOf(p, "note"), "1 reading set aside beyond this picture") {
		t.Errorf("notes are %q", textsOf(p, "note"))
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, it := range p.Items {
		if it.Class == "dot" {
			for _, q := range it.At {
				lo, hi = min(lo, q.Y), max(hi, q.Y)
			}
		}
	}
	if hi-lo < p.Height/3 {
		t.Errorf("the readings take %.0f of %.0f px", hi-lo, p.Height)
	}
}

// On a log axis a span from zero begins at the low end, it does not turn over.
func TestSpanFromZeroOnALogAxis(t *testing.T) {
	plot := measure.Plot{X: measure.Axis{Log: true}, Y: measure.Axis{Log: true},
		Layers: []measure.Layer{{Kind: measure.LayerPoints, X: []float64{1, 10, 100}, Y: []float64{1, 10, 100}}},
		Spans:  []measure.Span{{Axis: "y", From: 0, To: 10}, {Axis: "x", From: 0, To: 10}}}
	p := Layout(plot, Wide)
	var areas []Item
	for _, it := range p.Items {
		if it.Class == "span" {
			areas = append(areas, it)
		}
	}
	dots := p.Items[slices.IndexFunc(p.Items, func(it Item) bool { return it.Class == "dot" })].At
	if len(areas) != 2 {
		t.Fatalf("%d spans", len(areas))
	}
	if box := areas[0].Paths[0]; box[0].Y != dots[1].Y || box[2].Y <= dots[0].Y {
		t.Errorf("span of y from %v to %v px, 10 is at %v and 1 at %v", box[0].Y, box[2].Y, dots[1].Y, dots[0].Y)
	}
	if box := areas[1].Paths[0]; box[1].X != dots[1].X || box[0].X >= dots[0].X {
		t.Errorf("span of x from %v to %v px, 10 is at %v and 1 at %v", box[0].X, box[1].X, dots[1].X, dots[0].X)
	}
}
