package chart

import (
	"cmp"
	"math"
	"slices"

	"setwright/internal/measure"
)

// marginLabel is a label in the right margin, beside what it names.
type marginLabel struct {
	text, side string
	y          float64 // px, where it belongs
}

// marginLabels are those of the spans of the y axis, unless they would take
// more than 0.15 of the width.
func (s *sheet) marginLabels() []marginLabel {
	var out []marginLabel
	for _, sp := range s.plot.Spans {
		if sp.Axis != "y" || sp.Label == "" {
			continue
		}
		if TextWidth(sp.Label, s.px, false) > 0.15*s.pic.Width {
			return nil
		}
		_, _, top := s.spanY(sp)
		out = append(out, marginLabel{sp.Label, sp.Side, top})
	}
	return out
}

func (s *sheet) marginWidth() float64 {
	w := 0.0
	for _, m := range s.margin {
		w = max(w, TextWidth(m.text, s.px, false)+1.5*s.px)
	}
	return w
}

// spanY returns the upper and lower edge of a span of the y axis in px,
// clipped, and where its label belongs: at its upper edge, at the lower where
// the upper is out of the picture.
func (s *sheet) spanY(sp measure.Span) (top, bottom, label float64) {
	a, b := s.edge(s.y, sp.From, s.px2y), s.edge(s.y, sp.To, s.px2y)
	top, bottom = min(a, b), max(a, b)
	label = top
	if top < s.frame.Y0 && bottom <= s.frame.Y1 {
		label = bottom
	}
	return clamp(top, s.frame.Y0, s.frame.Y1), clamp(bottom, s.frame.Y0, s.frame.Y1), clamp(label, s.frame.Y0, s.frame.Y1)
}

// edge places an end of a span; what a log axis cannot show is beyond its low
// end.
func (s *sheet) edge(sc *scale, v float64, px func(float64) float64) float64 {
	if pos := sc.pos(v); !math.IsNaN(pos) {
		return px(pos)
	}
	return px(-1)
}

// drawable leaves out spans whose ends are not numbers.
func drawable(spans []measure.Span) []measure.Span {
	return slices.DeleteFunc(slices.Clone(spans), func(sp measure.Span) bool {
		return math.IsNaN(sp.From) || math.IsNaN(sp.To)
	})
}

func (s *sheet) spans() {
	for _, sp := range s.plot.Spans {
		x0, x1, y0, y1 := s.frame.X0, s.frame.X1, s.frame.Y0, s.frame.Y1
		if sp.Axis == "x" {
			a, b := s.edge(s.x, sp.From, s.px2x), s.edge(s.x, sp.To, s.px2x)
			x0, x1 = clamp(min(a, b), x0, x1), clamp(max(a, b), x0, x1)
		} else {
			y0, y1, _ = s.spanY(sp)
		}
		if x1 > x0 && y1 > y0 {
			s.pic.area("span", sp.Side, [][]Point{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}})
		}
	}
	s.spreadMargin()
}

// spreadMargin writes the margin labels, pushed apart where they would touch,
// each with a thin leader to where it belongs.
func (s *sheet) spreadMargin() {
	slices.SortStableFunc(s.margin, func(a, b marginLabel) int { return cmp.Compare(a.y, b.y) })
	at := make([]float64, len(s.margin))
	for i, m := range s.margin {
		at[i] = m.y
	}
	spread(at, 1.2*s.px, s.frame.Y0, s.frame.Y1)
	var leaders [][]Point
	for i, m := range s.margin {
		x := s.frame.X1
		leaders = append(leaders, []Point{{x + 1, m.y}, {x + 0.9*s.px, at[i]}})
		s.label("tick", m.side, m.text, Point{x + 1.1*s.px, at[i] + 0.33*s.px}, Start)
	}
	s.pic.stroke("leader", "", leaders)
}

// spread moves ascending places apart to at least gap, no further than it must
// (least squares: with the gaps taken off, places that are out of order are
// pooled at their mean), and within lo and hi where there is room.
func spread(at []float64, gap, lo, hi float64) {
	type pool struct{ sum, n float64 }
	var pools []pool
	for i, y := range at {
		p := pool{y - gap*float64(i), 1}
		for len(pools) > 0 && pools[len(pools)-1].sum/pools[len(pools)-1].n >= p.sum/p.n {
			last := pools[len(pools)-1]
			p = pool{p.sum + last.sum, p.n + last.n}
			pools = pools[:len(pools)-1]
		}
		pools = append(pools, p)
	}
	i := 0
	for _, p := range pools {
		y := clamp(p.sum/p.n, lo, max(lo, hi-gap*float64(len(at)-1)))
		for range int(p.n) {
			at[i] = y + gap*float64(i)
			i++
		}
	}
}

// columnPlaces are in the middle of a span of the x axis or beside it, from
// the axis upward in rows.
func (s *sheet) columnPlaces(left, right float64) []candidate {
	var out []candidate
	for row := 0.0; ; row++ {
		y := s.frame.Y1 - 0.7*s.px - row*1.3*s.px
		if y < s.frame.Y0+s.px && row > 0 {
			return out
		}
		out = append(out, candidate{Point{(left + right) / 2, y}, Middle, 2 * row},
			candidate{Point{left + 0.3*s.px, y}, Start, 2*row + 1},
			candidate{Point{right + 0.45*s.px, y}, Start, 2*row + 2}, candidate{Point{left - 0.45*s.px, y}, End, 2*row + 3})
	}
}

// spanPlaces are inside a span of the x axis or beside it; at either end of one of
// the y axis, over its upper edge or under its lower.
func (s *sheet) spanPlaces(sp measure.Span) []candidate {
	if sp.Axis == "x" {
		a, b := s.edge(s.x, sp.From, s.px2x), s.edge(s.x, sp.To, s.px2x)
		return s.columnPlaces(clamp(min(a, b), s.frame.X0, s.frame.X1), clamp(max(a, b), s.frame.X0, s.frame.X1))
	}
	top, bottom, _ := s.spanY(sp)
	right, left := s.frame.X1-0.3*s.px, s.frame.X0+0.3*s.px
	return []candidate{
		{Point{right, top - 0.3*s.px}, End, 0}, {Point{right, bottom + s.px}, End, 1},
		{Point{left, top - 0.3*s.px}, Start, 2}, {Point{left, bottom + s.px}, Start, 3},
		{Point{right, top + s.px}, End, 4},
	}
}
