package chart

import (
	"flag"
	"fmt"
	"html"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"setwright/internal/measure"
)

// Invented data: the pictures the tests draw. `go test -gallery DIR` writes
// them all to DIR, for the eye.
var galleryDir = flag.String("gallery", "", "write every picture of the gallery to this directory")

const fullHour = 5400.0 // s, an invented record of 90 min

// invented is a warm-up of an invented oscillator: two exponentials, a line
// and white noise, from a seed.
type invented struct {
	closing, fast, slow, tauFast, tauSlow, noise float64
	seed                                         uint64
}

var (
	asFound = invented{7_915_204.3, -1200, -900, 420, 1700, 12, 1}
	fitted  = invented{7_914_871.9, -950, -330, 260, 900, 14, 2}
)

func (w invented) at(t float64) float64 {
	return w.closing + w.fast*math.Exp(-t/w.tauFast) + w.slow*math.Exp(-t/w.tauSlow)
}

func (w invented) readings(n int) (t, f []float64) {
	r := rand.New(rand.NewPCG(w.seed, 7))
	for i := range n {
		at := fullHour * float64(i) / float64(n-1)
		t, f = append(t, at), append(f, w.at(at)+w.noise*r.NormFloat64())
	}
	return t, f
}

func (w invented) curve(n int, side, label string) (line, band measure.Layer) {
	line = measure.Layer{Kind: measure.LayerLine, Side: side, Label: label}
	band = measure.Layer{Kind: measure.LayerBand, Side: side}
	for i := range n {
		t := fullHour * float64(i) / float64(n-1)
		half := 30 + 60*math.Exp(-t/600)
		line.X, line.Y = append(line.X, t), append(line.Y, w.at(t))
		band.X = append(band.X, t)
		band.Lo, band.Hi = append(band.Lo, w.at(t)-half), append(band.Hi, w.at(t)+half)
	}
	return line, band
}

// settles is the time from which the curve stays within band of its closing.
func (w invented) settles(band float64) float64 {
	for t := 0.0; t < fullHour; t++ {
		if w.closing-w.at(t) < band {
			return t
		}
	}
	return fullHour
}

func fromClosing(w invented) measure.Axis {
	return measure.Axis{Unit: "Hz", Offset: w.closing, OffsetLabel: "from closing value"}
}

var fromPowerOn = measure.Axis{Label: "time from power-on", Unit: "s"}

func warmUp() measure.Plot {
	t, f := asFound.readings(360)
	line, band := asFound.curve(200, measure.SideNone, "fitted warm-up")
	p := measure.Plot{ID: "record", Title: "Oscillator from cold", X: fromPowerOn, Y: fromClosing(asFound),
		Caption: "Every reading, the fitted warm-up and its 95 % band. Invented data.",
		Alt:     "The oscillator rises by 2 100 Hz and settles within an hour.",
		Layers:  []measure.Layer{{Kind: measure.LayerPoints, X: t, Y: f}, line, band}}
	for _, b := range []float64{500, 100, 20} {
		at := asFound.settles(b)
		p.Spans = append(p.Spans, measure.Span{Axis: "y", From: asFound.closing - b, To: asFound.closing + b,
			Label: fmt.Sprintf("±%g Hz", b)})
		p.Marks = append(p.Marks, measure.Mark{X: at, Y: asFound.closing - b, HasY: true,
			Label: fmt.Sprintf("±%g Hz: %.0f ± 2 min", b, at/60)})
	}
	return p
}

func residuals() measure.Plot {
	t, f := asFound.readings(360)
	for i := range f {
		f[i] -= asFound.at(t[i])
	}
	return measure.Plot{ID: "residuals", Title: "Readings less the fit", X: fromPowerOn,
		Y: measure.Axis{Label: "residual", Unit: "Hz"}, Caption: "What the fitted warm-up leaves. Invented data.",
		Layers: []measure.Layer{{Kind: measure.LayerPoints, X: t, Y: f},
			{Kind: measure.LayerAside, X: []float64{1800, 3000}, Y: []float64{-61, 5000}, Label: "set aside"}}}
}

func allan() measure.Plot {
	p := measure.Plot{ID: "allan", Title: "Allan deviation of the settled part",
		X:       measure.Axis{Label: "averaging time τ", Unit: "s", Log: true},
		Y:       measure.Axis{Label: "overlapping Allan deviation σy(τ)", Unit: "1", Log: true},
		Caption: "With 95 % intervals. Invented data."}
	for side, scale := range map[string]float64{measure.SideA: 1, measure.SideB: 0.45} {
		l := measure.Layer{Kind: measure.LayerBars, Side: side, Label: map[string]string{"a": "as found", "b": "pair fitted"}[side]}
		for i := range 9 {
			tau := 15 * math.Pow(2, float64(i))
			y := scale * (8e-8/math.Sqrt(tau) + 2e-10*math.Sqrt(tau))
			spread := 1 + 0.06*float64(i)
			l.X, l.Y = append(l.X, tau), append(l.Y, y)
			l.Lo, l.Hi = append(l.Lo, y/spread), append(l.Hi, y*spread*spread)
		}
		p.Layers = append(p.Layers, l)
	}
	if p.Layers[0].Side == measure.SideB { // a map has no order; a picture must
		p.Layers[0], p.Layers[1] = p.Layers[1], p.Layers[0]
	}
	return p
}

// comparison overlays three runs a side.
func comparison() measure.Plot {
	p := measure.Plot{ID: "compare", Title: "Before and after, three cold runs a side", X: fromPowerOn,
		Y:   measure.Axis{Unit: "Hz", OffsetLabel: "from closing value"},
		Alt: "Two groups of warm-up curves; the second settles earlier.", Caption: "Every reading of six runs. Invented data."}
	for _, g := range []struct {
		w           invented
		side, label string
	}{{asFound, measure.SideA, "as found"}, {fitted, measure.SideB, "pair fitted"}} {
		g.w.closing = 0
		line, band := g.w.curve(120, g.side, "")
		p.Layers = append(p.Layers, band)
		for i := range 3 {
			w := g.w
			w.seed += uint64(10 * i)
			w.fast *= 1 + 0.06*float64(i-1)
			t, f := w.readings(46)
			p.Layers = append(p.Layers, measure.Layer{Kind: measure.LayerPoints, Side: g.side, X: t, Y: f})
		}
		p.Layers = append(p.Layers, line)
		at := g.w.settles(100)
		p.Marks = append(p.Marks, measure.Mark{X: at, Y: -100, HasY: true, Side: g.side,
			Label: fmt.Sprintf("%s: %.0f ± 2 min", g.label, at/60)})
	}
	p.Spans = []measure.Span{{Axis: "y", From: -100, To: 100, Label: "±100 Hz"}}
	return p
}

func glances() measure.Plot {
	return measure.Plot{ID: "glances", Title: "Six glances at clock and dial", X: fromPowerOn, Y: measure.Axis{Label: "frequency", Unit: "Hz"},
		Layers: []measure.Layer{{Kind: measure.LayerPoints, X: []float64{0, 120, 300, 600, 1200, 2400},
			Y: []float64{7.0627e6, 7.0641e6, 7.0648e6, 7.0653e6, 7.0655e6, 7.0656e6}}},
		Spans: []measure.Span{{Axis: "x", From: 600, To: 1200, Label: "settles in between"}}}
}

func steps() measure.Plot {
	return measure.Plot{ID: "steps", Title: "Gain-control range", X: measure.Axis{Label: "level at the input", Unit: "dBm"},
		Y: measure.Axis{Label: "audio output", Unit: "dB"},
		Layers: []measure.Layer{{Kind: measure.LayerHist, Side: measure.SideA, Label: "fast", X: []float64{-110, -100, -90, -80, -60, -20}, Y: []float64{-30, -21, -12, -4, -1, 0}},
			{Kind: measure.LayerLine, Side: measure.SideB, Label: "slow", X: []float64{-110, -100, -95, -90, -80, -60, -20}, Y: []float64{-34, -24, math.NaN(), -15, -6, -2, -0.5}}}}
}

func longRecord(n int) measure.Plot {
	t, f := asFound.readings(n)
	line, _ := asFound.curve(200, measure.SideNone, "fitted")
	f[n/2] += 900 // one slip must stay visible among so many
	return measure.Plot{ID: "long", Title: "A long record", X: fromPowerOn, Y: fromClosing(asFound),
		Layers: []measure.Layer{{Kind: measure.LayerPoints, X: t, Y: f}, line}}
}

func empty() measure.Plot {
	return measure.Plot{ID: "empty", Title: "Nothing yet", X: fromPowerOn, Y: measure.Axis{Label: "frequency", Unit: "Hz"}}
}

func gallery() []measure.Plot {
	return []measure.Plot{warmUp(), residuals(), allan(), comparison(), glances(), steps(), longRecord(20000), empty()}
}

// history is the states of an invented set.
func history() Timeline {
	at := func(month time.Month, day int) time.Time { return time.Date(2024, month, day, 9, 0, 0, 0, time.UTC) }
	return Timeline{Title: "States of the set", Alt: "Three states with the runs made in each.", Until: at(11, 20), Items: []Period{
		{Label: "as found", From: at(2, 10), To: at(5, 4), Side: measure.SideA, Runs: []time.Time{at(2, 12), at(2, 13), at(3, 2), at(4, 28)}},
		{Label: "pair fitted", From: at(5, 4), To: at(9, 1), Side: measure.SideB, Runs: []time.Time{at(5, 6), at(5, 7), at(5, 9)}},
		{Label: "pair fitted, regulator out again", From: at(9, 1), Runs: []time.Time{at(9, 3), at(11, 18)}}}}
}

func TestGallery(t *testing.T) {
	if *galleryDir == "" {
		t.Skip("no -gallery directory given")
	}
	save(t, "states.svg", func(f *os.File) error { return WriteSVG(f, LayoutTimeline(history(), Wide)) })
	save(t, "states-narrow.svg", func(f *os.File) error { return WriteSVG(f, LayoutTimeline(history(), Narrow)) })
	for _, format := range []string{"svg", "png", "pdf"} {
		save(t, "stack."+format, func(f *os.File) error {
			return File([]measure.Plot{warmUp(), residuals(), allan(), comparison()}, format, f)
		})
	}
	save(t, "dark.png", func(f *os.File) error { return WritePNG(f, Layout(comparison(), Wide), Dark) })
	save(t, "long.pdf", func(f *os.File) error { return WritePDF(f, Layout(longRecord(20000), Wide), Print) })
	var page strings.Builder
	for name, theme := range map[string]Theme{"light": Light, "dark": Dark} {
		fmt.Fprintf(&page, "<style>.%s{%s;--sans:'Source Sans 3',system-ui,sans-serif;background:var(--leaf)}</style>", name, theme.properties())
	}
	fmt.Fprintf(&page, "<style>%s</style>", Stylesheet())
	for _, p := range gallery() {
		save(t, p.ID+".svg", func(f *os.File) error { return WriteSVG(f, Layout(p, Wide)) })
		save(t, p.ID+"-narrow.svg", func(f *os.File) error { return WriteSVG(f, Layout(p, Narrow)) })
		fmt.Fprintf(&page, "<h2>%s</h2><div class=light>%s</div>", html.EscapeString(p.Title), Inline(p, p.ID))
	}
	fmt.Fprintf(&page, "<div class=dark>%s%s%s</div>", Inline(comparison(), "dark"), Inline(warmUp(), "dark2"), InlineTimeline(history(), "dark3"))
	save(t, "page.html", func(f *os.File) error {
		_, err := f.WriteString("<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'>" + page.String())
		return err
	})
}

func save(t *testing.T, name string, write func(*os.File) error) {
	t.Helper()
	f, err := os.Create(filepath.Join(*galleryDir, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := write(f); err != nil {
		t.Fatal(err)
	}
}
