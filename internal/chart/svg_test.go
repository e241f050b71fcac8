package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"setwright/internal/measure"
)

var update = flag.Bool("update", false, "write the golden files anew")

// small is the picture of the golden files: both sides, a band, a gap, a
// mark, a span.
func small() measure.Plot {
	return measure.Plot{ID: "small", Title: "Two short records", Alt: "Side A rises by 400 Hz, side B by 150 Hz.",
		X: fromPowerOn, Y: measure.Axis{Unit: "Hz", Offset: 7065000, OffsetLabel: "from closing value"},
		Layers: []measure.Layer{
			{Kind: measure.LayerBand, Side: measure.SideA, X: []float64{0, 600, 1200}, Lo: []float64{7064580, 7064880, 7064970}, Hi: []float64{7064620, 7064920, 7065010}},
			{Kind: measure.LayerPoints, Side: measure.SideA, X: []float64{0, 300, 600, 900, 1200}, Y: []float64{7064601, 7064790, 7064897, 7064961, 7064994}},
			{Kind: measure.LayerLine, Side: measure.SideA, Label: "as found", X: []float64{0, 600, 1200}, Y: []float64{7064600, 7064900, 7064990}},
			{Kind: measure.LayerPoints, Side: measure.SideB, Label: "pair fitted", X: []float64{0, 300, 600, 1200}, Y: []float64{7064850, 7064950, 7064990, 7065001}},
			{Kind: measure.LayerAside, Side: measure.SideB, X: []float64{900}, Y: []float64{7064700}}},
		Spans: []measure.Span{{Axis: "y", From: 7064900, To: 7065100, Label: "±100 Hz"}},
		Marks: []measure.Mark{{X: 600, Y: 7064900, HasY: true, Side: measure.SideA, Label: "10 ± 1 min"}}}
}

var smallSize = Size{400, 240, 12}

func svgOf(t *testing.T, p *Picture) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteSVG(&b, p); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// golden compares with a file of testdata byte for byte.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs; look at it, then run the test with -update\n%s", path, firstDifference(string(got), string(want)))
	}
}

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			return "got  " + g[i] + "\nwant " + w[i]
		}
	}
	return "one is longer"
}

// Proves that the same plot gives the same bytes, and what they are: classes,
// sides, no style attributes on shapes, coordinates with one decimal at most.
func TestGoldenSVG(t *testing.T) {
	golden(t, "small.svg", []byte(svgOf(t, Layout(small(), smallSize))))
}

// Proves the same of the pair of drawings inlined in a page, which carry no
// style sheet (a strict content policy forbids one).
func TestGoldenInline(t *testing.T) {
	golden(t, "small-inline.html", []byte(Inline(small(), "small")))
	if strings.Contains(string(Inline(small(), "small")), "style") {
		t.Error("an inlined picture carries a style of its own")
	}
}

func TestSameBytesEveryTime(t *testing.T) {
	for _, p := range gallery() {
		once, again := svgOf(t, Layout(p, Wide)), svgOf(t, Layout(p, Wide))
		if once != again {
			t.Errorf("%s: two drawings differ", p.ID)
		}
	}
}

// element is what the tests look at in a parsed SVG.
type element struct {
	name  string
	attrs map[string]string
}

func parse(t *testing.T, svg string) []element {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	var out []element
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatalf("not XML: %v", err)
		}
		if start, ok := token.(xml.StartElement); ok {
			e := element{start.Name.Local, map[string]string{}}
			for _, a := range start.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			out = append(out, e)
		}
	}
}

func TestSVGIsXMLAndNamed(t *testing.T) {
	for name, p := range pictures() {
		elements := parse(t, svgOf(t, p))
		ids := map[string]bool{}
		for _, e := range elements {
			if id := e.attrs["id"]; id != "" {
				if ids[id] {
					t.Errorf("%s: id %q twice", name, id)
				}
				ids[id] = true
			}
		}
		root := elements[0].attrs
		if root["role"] != "img" || root["viewBox"] == "" {
			t.Errorf("%s: root %v", name, root)
		}
		for id := range strings.FieldsSeq(root["aria-labelledby"]) {
			if !ids[id] {
				t.Errorf("%s: labelled by %q, which is not there", name, id)
			}
		}
	}
}

func TestInlineIDsAreUnique(t *testing.T) {
	page := "<div>" + string(Inline(small(), "run-1")) + string(Inline(small(), "run-2")) + string(InlineTimeline(history(), "3 / \"x\"")) + "</div>"
	seen := map[string]bool{}
	for _, e := range parse(t, page) {
		if id := e.attrs["id"]; id != "" {
			if seen[id] || strings.ContainsAny(id, " /\"") {
				t.Errorf("id %q", id)
			}
			seen[id] = true
		}
	}
	if len(seen) != 12 {
		t.Errorf("%d ids for six drawings", len(seen))
	}
}

func TestLabelsAreEscaped(t *testing.T) {
	p := small()
	p.Title, p.Alt = `<script>alert("x")</script>`, "a & b\x00\ufffe"
	p.Layers[2].Label = "</text><script>"
	svg := svgOf(t, Layout(p, Wide))
	parse(t, svg)
	if strings.Contains(svg, "<script") {
		t.Error("text of a plot became an element")
	}
}

// Every class that is drawn must have a style, or it would be filled black.
func TestEveryClassHasAStyle(t *testing.T) {
	if len(classOrder) != len(classes) {
		t.Errorf("%d classes, %d in the style sheet", len(classes), len(classOrder))
	}
	sheet := Stylesheet()
	for name, p := range pictures() {
		for _, it := range p.Items {
			if _, ok := classes[it.Class]; !ok || !strings.Contains(sheet, ".chart ."+it.Class+" {") {
				t.Errorf("%s: class %q has no style", name, it.Class)
			}
		}
	}
}

// Dots are lines of no length, which only a round pen shows.
func TestDotsAreDrawnWithARoundPen(t *testing.T) {
	sheet := Stylesheet()
	for name, p := range pictures() {
		for _, it := range p.Items {
			if it.Kind != Symbols || it.Shape != Disc {
				continue
			}
			_, rules, _ := strings.Cut(sheet, ".chart ."+it.Class+" {")
			rules, _, _ = strings.Cut(rules, "}")
			if !strings.Contains(rules, "stroke-linecap: round") || strings.Contains(rules, "stroke-width") || strings.Contains(rules, "stroke: none") {
				t.Errorf("%s: dots of class %q have the style %s", name, it.Class, rules)
			}
		}
	}
}

func TestNoMinusZeroAnywhere(t *testing.T) {
	for name, p := range pictures() {
		for _, s := range textsOf(p, "tick") {
			if strings.Trim(s, "0.") == minus || strings.HasPrefix(s, "-") {
				t.Errorf("%s: label %q", name, s)
			}
		}
		if svg := svgOf(t, p); strings.Contains(svg, " -0 ") || strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Errorf("%s: a coordinate that is none", name)
		}
	}
}

// A day of a reading each 0.1 s must not make a page of megabytes.
func TestLargeRecordsStaySmall(t *testing.T) {
	for _, n := range []int{20_000, 1_000_000} {
		if testing.Short() && n > 20_000 {
			continue
		}
		if size := len(svgOf(t, Layout(longRecord(n), Wide))); size > 120_000 {
			t.Errorf("%d readings make %d bytes", n, size)
		}
	}
}

// Text and lines must be readable on their ground: contrast of at least 4.5 for
// text and 3 for shapes (WCAG 2.2, success criteria 1.4.3 and 1.4.11, level AA).
func TestThemesHaveContrast(t *testing.T) {
	for name, th := range map[string]Theme{"light": Light, "dark": Dark, "print": Print} {
		for _, c := range []role{own, soft} {
			for _, side := range []string{"", "a", "b"} {
				if r := Contrast(th.colour(c, side), th.Leaf); r < 4.5 {
					t.Errorf("%s: %s of side %q: contrast %.2f", name, c, side, r)
				}
			}
		}
		if r := Contrast(mixed(th.Ink, th.Leaf, classes["dense"].opacity), th.Leaf); r < 3 {
			t.Errorf("%s: dense readings: contrast %.2f", name, r)
		}
	}
	// The definition's own end points: black on white is 21, a colour on itself 1.
	if r := Contrast(hex(0), hex(0xffffff)); r < 20.99 || r > 21.01 {
		t.Errorf("black on white %.3f, want 21", r)
	}
}
