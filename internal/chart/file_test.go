package chart

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"setwright/internal/measure"
)

// Proves that the PNG shows what the SVG does, in the colours of the sides.
// Antialiasing may differ in the last bit between processors: up to 8 of 255
// in any dot, and 2 of 1 000 dots beyond that.
func TestGoldenPNG(t *testing.T) {
	var b bytes.Buffer
	if err := WritePNG(&b, Layout(small(), smallSize), Light); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("testdata", "small.png")
	if *update {
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got, want := decode(t, b.Bytes()), decode(t, file)
	if got.Bounds() != want.Bounds() {
		t.Fatalf("%v, want %v", got.Bounds(), want.Bounds())
	}
	if n := different(got, want, 8); n > 0.002 {
		t.Errorf("%.2f %% of the dots differ; look at it, then run the test with -update", 100*n)
	}
	if n := different(got, blank(got.Bounds()), 8); n < 0.02 {
		t.Errorf("only %.2f %% of the dots are drawn on", 100*n)
	}
}

func decode(t *testing.T, data []byte) image.Image {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func blank(r image.Rectangle) image.Image {
	img := image.NewRGBA(r)
	for i := range img.Pix {
		img.Pix[i] = 0xff
	}
	return img
}

// different is the part of the dots that differ by more than tol of 255.
func different(a, b image.Image, tol int) float64 {
	n, all := 0, 0
	for y := a.Bounds().Min.Y; y < a.Bounds().Max.Y; y++ {
		for x := a.Bounds().Min.X; x < a.Bounds().Max.X; x++ {
			all++
			ar, ag, ab, _ := a.At(x, y).RGBA()
			br, bg, bb, _ := b.At(x, y).RGBA()
			if max(apart(ar, br), apart(ag, bg), apart(ab, bb)) > tol {
				n++
			}
		}
	}
	return float64(n) / float64(all)
}

func apart(a, b uint32) int {
	d := int(a>>8) - int(b>>8)
	return max(d, -d)
}

// The band and the dots of side A are blue, the diamonds of side B orange.
func TestPNGHasTheColoursOfTheSides(t *testing.T) {
	for name, th := range map[string]Theme{"light": Light, "dark": Dark} {
		p := Layout(small(), smallSize)
		img, err := raster(p, th, 2)
		if err != nil {
			t.Fatal(err)
		}
		for _, it := range p.Items {
			if it.Class == "dot" && it.Side == measure.SideA && it.R > 3 {
				if got := img.RGBAAt(int(2*it.At[0].X), int(2*it.At[0].Y)); got != th.SideA {
					t.Errorf("%s: dot of side A is %v", name, got)
				}
			}
			if it.Class == "ring" {
				if got := img.RGBAAt(int(2*(it.At[0].X+it.R/2)), int(2*(it.At[0].Y-it.R/2))); apart(uint32(got.R)<<8, uint32(th.SideB.R)<<8) > 60 {
					t.Errorf("%s: edge of a diamond of side B is %v", name, got)
				}
			}
		}
	}
}

// A PDF must print sharp: vectors, text in an embedded font, and no image.
func TestPDFIsVectorsWithItsFont(t *testing.T) {
	var b bytes.Buffer
	if err := File([]measure.Plot{warmUp(), residuals(), allan()}, "pdf", &b); err != nil {
		t.Fatal(err)
	}
	data := b.Bytes()
	if !bytes.HasPrefix(data, []byte("%PDF-1.")) || !bytes.Contains(data[len(data)-20:], []byte("%%EOF")) {
		t.Errorf("starts %q, ends %q", data[:9], data[len(data)-8:])
	}
	if n := bytes.Count(data, []byte("/FontFile2")); n != 2 {
		t.Errorf("%d embedded fonts, want regular and bold", n)
	}
	if bytes.Contains(data, []byte("/Subtype /Image")) {
		t.Error("there is an image in it")
	}
	if n := len(regexp.MustCompile(`/Type /Page\b[^s]`).FindAll(data, -1)); n != 1 {
		t.Errorf("%d pages", n)
	}
	var again bytes.Buffer
	if err := File([]measure.Plot{warmUp(), residuals(), allan()}, "pdf", &again); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(data, again.Bytes()) {
		t.Error("the same picture gave other bytes")
	}
}

// All signs that charts use are in both weights of the font that PNG and PDF
// are set in, but for the thin space, which is set as a gap.
func TestFontHasTheSignsOfCharts(t *testing.T) {
	for _, r := range "−±µτσΔΩ°×·⁻⁰¹²³⁴⁵⁶⁷⁸⁹≤≥…–" {
		if !regular.has(r) || !bold.has(r) {
			t.Errorf("no %q", r)
		}
	}
	got := pieces("−2"+thinSpace+"000 \u4e00", 10, 10, false)
	if len(got) != 2 || got[0].s != "−2" || got[1].s != "000 ?" || got[1].x <= got[0].x {
		t.Errorf("pieces %v", got)
	}
}

func TestFormats(t *testing.T) {
	for name, want := range map[string]string{"a.svg": "svg", "/x/b.PNG": "png", "c.d.pdf": "pdf"} {
		if got, err := FormatOf(name); err != nil || got != want {
			t.Errorf("FormatOf(%q) = %q, %v", name, got, err)
		}
	}
	for _, name := range []string{"", "plot", "plot.jpg", "svg"} {
		if _, err := FormatOf(name); err == nil || !strings.Contains(err.Error(), ".svg, .png or .pdf") {
			t.Errorf("FormatOf(%q): %v", name, err)
		}
	}
	if err := File(nil, "bmp", &bytes.Buffer{}); err == nil {
		t.Error("wrote a format that is not there")
	}
}

func TestStackHoldsEveryPlot(t *testing.T) {
	plots := []measure.Plot{warmUp(), residuals(), allan()}
	p := Stack(plots)
	heads := textsOf(p, "head")
	if len(heads) != 3 || heads[1] != residuals().Title {
		t.Errorf("heads %q", heads)
	}
	if n, _ := count1(p, "under"); n != 360 {
		t.Errorf("%d readings in the first plot", n)
	}
	// What stands in a stack is what stands alone, further down.
	alone := Layout(plots[0], Wide)
	for i, it := range alone.Items {
		q := p.Items[i+1]
		if q.Class != it.Class || q.Text != it.Text || len(q.At) != len(it.At) {
			t.Fatalf("item %d: %s %q, alone %s %q", i, q.Class, q.Text, it.Class, it.Text)
		}
	}
}
