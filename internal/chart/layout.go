package chart

import (
	"math"

	"setwright/internal/measure"
)

// Size is the size of a picture and of its text, in px.
type Size struct{ Width, Height, FontPx float64 }

// The sizes of a page: a narrow page gets a drawing of its own, with fewer
// ticks and larger type, instead of a wide one shrunk. The low ones are for
// second pictures, such as residuals under a record.
var (
	Wide      = Size{900, 430, 15}
	Narrow    = Size{360, 330, 13.5}
	Low       = Size{900, 320, 15}
	LowNarrow = Size{360, 260, 13.5}
)

// sheet is a picture of a plot while it is being laid out.
type sheet struct {
	pic    *Picture
	plot   measure.Plot
	px     float64 // font size
	frame  Box
	x, y   *scale
	placer *placer
	margin []marginLabel
	notes  []string
}

// Layout lays a plot out for a size. Any plot gives a picture: one without
// anything to draw says so.
func Layout(p measure.Plot, size Size) *Picture { return arrange(p, size).pic }

// arrange lays a plot out and keeps the scales it was laid out by.
func arrange(p measure.Plot, size Size) *sheet {
	s := &sheet{plot: p, px: size.FontPx, pic: &Picture{Width: size.Width, Height: size.Height,
		FontPx: size.FontPx, Title: p.Title, Desc: describe(p)}}
	s.plot.Spans = drawable(p.Spans)
	s.setScales(size)
	right := size.Width - 2
	if len(s.margin) > 0 {
		right = s.frame.X1 // the margin has labels of its own
	}
	s.placer = newPlacer(size.Width, right, s.frame, s.px)
	s.grid()
	s.axes()
	s.spans()
	s.layers()
	s.marks()
	s.labels()
	s.writeNotes()
	return s
}

// px2x and px2y turn a place on an axis (0 to 1) into px.
func (s *sheet) px2x(pos float64) float64 { return s.frame.X0 + pos*s.frame.width() }
func (s *sheet) px2y(pos float64) float64 { return s.frame.Y1 - pos*s.frame.height() }

// at turns a data point into a place; NaN where it has none.
func (s *sheet) at(x, y float64) Point {
	if !finite(x) || !finite(y) {
		return Point{math.NaN(), math.NaN()}
	}
	return Point{s.px2x(s.x.pos(x)), s.px2y(s.y.pos(y))}
}

func (q Point) ok() bool { return finite(q.X) && finite(q.Y) }

func (s *sheet) grid() {
	paths := [][]Point{}
	for _, t := range s.y.ticks {
		y := s.px2y(s.y.posOff(t.Value))
		paths = append(paths, []Point{{s.frame.X0, y}, {s.frame.X1, y}})
		s.placer.mark(paths[len(paths)-1][0], paths[len(paths)-1][1], gridInk)
	}
	for _, t := range s.y.minor { // short, and inside: outside they would look like minus signs
		y := s.px2y(s.y.posOff(t.Value))
		paths = append(paths, []Point{{s.frame.X0, y}, {s.frame.X0 + 0.5*s.px, y}})
	}
	if s.x.log {
		for _, t := range s.x.ticks {
			x := s.px2x(s.x.posOff(t.Value))
			paths = append(paths, []Point{{x, s.frame.Y0}, {x, s.frame.Y1}})
		}
	}
	s.pic.stroke("grid", "", paths)
}

func (s *sheet) axes() {
	s.pic.stroke("axis", "", append(s.xTickLines(), []Point{{s.frame.X0, s.frame.Y1}, {s.frame.X1, s.frame.Y1}}))
	for _, t := range s.y.ticks {
		s.label("tick", "", t.Label, Point{s.frame.X0 - 0.6*s.px, s.px2y(s.y.posOff(t.Value)) + 0.33*s.px}, End)
	}
	s.xTickLabels()
	middle := (s.frame.X0 + s.frame.X1) / 2
	s.label("tick", "", fit(s.x.titles, 2*min(middle, s.pic.Width-middle)-4, s.px), Point{middle, s.pic.Height - 0.6*s.px}, Middle)
	s.label("tick", "", fit(s.y.titles, s.pic.Width-8, s.px), s.yTitleAt(), Start)
}

// xTickLabels leaves out numbers that would touch their neighbours or the edge
// of the picture, which happens only where even two are too long for it.
func (s *sheet) xTickLabels() {
	end := 0.0
	for _, t := range s.x.ticks {
		x, half := s.px2x(s.x.posOff(t.Value)), TextWidth(t.Label, s.px, false)/2
		if x-half > end && x+half < s.pic.Width {
			s.label("tick", "", t.Label, Point{x, s.frame.Y1 + 1.6*s.px}, Middle)
			end = x + half + 0.4*s.px
		}
	}
}

// yTitleAt stands over the axis, further left where the title is long.
func (s *sheet) yTitleAt() Point {
	w := TextWidth(fit(s.y.titles, s.pic.Width-8, s.px), s.px, false)
	return Point{max(4, min(s.frame.X0, s.pic.Width-4-w)), 1.2 * s.px}
}

func (s *sheet) xTickLines() [][]Point {
	var paths [][]Point
	long, short := 0.4*s.px, 0.22*s.px
	for _, t := range s.x.ticks {
		x := s.px2x(s.x.posOff(t.Value))
		paths = append(paths, []Point{{x, s.frame.Y1}, {x, s.frame.Y1 + long}})
	}
	for _, t := range s.x.minor {
		x := s.px2x(s.x.posOff(t.Value))
		paths = append(paths, []Point{{x, s.frame.Y1}, {x, s.frame.Y1 + short}})
	}
	return paths
}

// label writes text at a fixed place and keeps other labels off it.
func (s *sheet) label(class, side, text string, at Point, anchor Anchor) {
	if text == "" {
		return
	}
	s.pic.text(class, side, text, at.X, at.Y, anchor)
	s.placer.take(s.pic.TextBox(s.pic.Items[len(s.pic.Items)-1]))
}

// fit returns the fullest wording that fits a width, else the last one cut
// short with an ellipsis.
func fit(wordings []string, width, px float64) string {
	last := ""
	for _, last = range wordings {
		if TextWidth(last, px, false) <= width {
			return last
		}
	}
	return cut(last, width, px, false)
}

// cut shortens a text to a width, with an ellipsis.
func cut(text string, width, px float64, isBold bool) string {
	if TextWidth(text, px, isBold) <= width {
		return text
	}
	runes := []rune(text)
	for n := len(runes) - 1; n > 0; n-- {
		if short := string(runes[:n]) + "…"; TextWidth(short, px, isBold) <= width {
			return short
		}
	}
	return ""
}
