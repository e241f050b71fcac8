package chart

import "setwright/internal/measure"

// marks draws the lines of the marked places before any label is placed, so
// that no label is put on one.
func (s *sheet) marks() {
	for _, m := range s.plot.Marks {
		x := s.px2x(s.x.pos(m.X))
		if !s.inFrame(x) {
			continue
		}
		top := s.markTop(m)
		if m.HasY {
			s.pic.symbols("dot", m.Side, Disc, 3, []Point{{x, top}})
		}
		s.pic.line("settle", m.Side, x, top, x, s.frame.Y1)
		s.placer.mark(Point{x, top}, Point{x, s.frame.Y1}, markInk)
	}
}

// markTop is the upper end of the line of a mark: its own place, else where it
// meets a curve of its side, else the top of the frame.
func (s *sheet) markTop(m measure.Mark) float64 {
	if q := s.at(m.X, m.Y); m.HasY && q.ok() {
		return clamp(q.Y, s.frame.Y0, s.frame.Y1)
	}
	for _, l := range s.plot.Layers {
		if l.Kind != measure.LayerLine || l.Side != m.Side {
			continue
		}
		if y, ok := s.meets(l, m.X); ok {
			return clamp(y, s.frame.Y0, s.frame.Y1)
		}
	}
	return s.frame.Y0
}

// meets returns where a curve is at x, in px, on the straight line between
// its neighbouring points.
func (s *sheet) meets(l measure.Layer, x float64) (y float64, ok bool) {
	for i := 1; i < layerLen(l); i++ {
		if x < min(l.X[i-1], l.X[i]) || x > max(l.X[i-1], l.X[i]) {
			continue
		}
		a, b := s.at(l.X[i-1], l.Y[i-1]), s.at(l.X[i], l.Y[i])
		if q := s.px2x(s.x.pos(x)); a.ok() && b.ok() && b.X != a.X {
			return a.Y + (q-a.X)/(b.X-a.X)*(b.Y-a.Y), true
		}
	}
	return 0, false
}

// labels names marks, spans and curves, the most particular first.
func (s *sheet) labels() {
	for _, m := range s.plot.Marks {
		s.name(m.Label, m.Side, s.markPlaces(m))
	}
	for _, sp := range s.plot.Spans {
		if sp.Axis == "x" || len(s.margin) == 0 {
			s.placed("tick", sp.Side, sp.Label, s.spanPlaces(sp))
		}
	}
	named := map[[2]string]bool{}
	for _, l := range s.plot.Layers {
		if key := [2]string{l.Label, l.Side}; !named[key] {
			named[key] = s.name(l.Label, l.Side, s.layerPlaces(l))
		}
	}
}

func (s *sheet) name(text, side string, candidates []candidate) bool {
	return s.placed("name", side, text, candidates)
}

func (s *sheet) placed(class, side, text string, candidates []candidate) bool {
	if text == "" || len(candidates) == 0 {
		return false
	}
	text = cut(text, s.pic.Width-8, s.px, classes[class].bold)
	c, ok := s.placer.place(text, classes[class].bold, candidates)
	if ok {
		s.plate(text, class, c)
		s.pic.text(class, side, text, c.at.X, c.at.Y, c.anchor)
	}
	return ok
}

// plate clears the ground under a label that could not avoid the line of a
// mark.
func (s *sheet) plate(text, class string, c candidate) {
	b := textBox(text, c.at, c.anchor, s.px, classes[class].bold)
	if s.placer.heaviest(b) >= markInk {
		s.pic.area("plate", "", [][]Point{{{b.X0, b.Y0}, {b.X1, b.Y0}, {b.X1, b.Y1}, {b.X0, b.Y1}}})
	}
}

// markPlaces are beside the line of a mark, from the axis upward in rows; or
// across it, for labels too long for either side.
func (s *sheet) markPlaces(m measure.Mark) []candidate {
	x := s.px2x(s.x.pos(m.X))
	if !s.inFrame(x) {
		return nil
	}
	var out []candidate
	for row := 0.0; ; row++ {
		y := s.frame.Y1 - 0.7*s.px - row*1.3*s.px
		if y < s.markTop(m)+s.px && row > 0 {
			return out
		}
		out = append(out, candidate{Point{x + 0.45*s.px, y}, Start, 2 * row}, candidate{Point{x - 0.45*s.px, y}, End, 2*row + 3})
		if w := TextWidth(m.Label, s.px, true); x+w > s.frame.X1 && x-w < s.frame.X0 {
			out = append(out, candidate{Point{s.frame.X1 - 2, y}, End, 2 * row}, candidate{Point{s.frame.X0 + 2, y}, Start, 2 * row})
		}
	}
}

// layerPlaces are along a curve, over, under and beside it, by preference
// towards its right end, where curves have usually parted.
func (s *sheet) layerPlaces(l measure.Layer) []candidate {
	y := l.Y
	if l.Kind == measure.LayerBand {
		y = l.Hi
	}
	n := min(layerLen(l), len(y))
	var out []candidate
	const samples = 40
	for k := range samples {
		i := (n - 1) * k / (samples - 1)
		if n == 0 || n < samples && k >= n {
			break
		}
		if n < samples {
			i = k
		}
		if q := s.at(l.X[i], y[i]); q.ok() {
			out = append(out, s.around(q, 6*(1-q.X/s.pic.Width))...)
		}
	}
	return out
}

func (s *sheet) around(q Point, cost float64) []candidate {
	gap := 0.7 * s.px
	return []candidate{
		{Point{q.X, q.Y - gap}, Middle, cost}, {Point{q.X, q.Y + gap + 0.75*s.px}, Middle, cost + 0.5},
		{Point{q.X + gap, q.Y + 0.33*s.px}, Start, cost + 0.5}, {Point{q.X - gap, q.Y + 0.33*s.px}, End, cost + 1},
		{Point{q.X + gap, q.Y + 1.2*s.px}, Start, cost + 1}, {Point{q.X - gap, q.Y - 0.6*s.px}, End, cost + 1},
		{Point{q.X, q.Y - 2*gap}, Middle, cost + 3}, {Point{q.X, q.Y + 2*gap + 0.75*s.px}, Middle, cost + 3.5},
	}
}

// writeNotes writes what the picture leaves out, where there is room.
func (s *sheet) writeNotes() {
	for _, n := range s.notes {
		left, right := s.frame.X0+0.4*s.px, s.frame.X1-0.4*s.px
		s.placed("note", "", cut(n, s.frame.width(), s.px, false), []candidate{
			{Point{left, s.frame.Y0 + 0.9*s.px}, Start, 0}, {Point{right, s.frame.Y0 + 0.9*s.px}, End, 0},
			{Point{left, s.frame.Y1 - 0.6*s.px}, Start, 1}, {Point{right, s.frame.Y1 - 0.6*s.px}, End, 1},
		})
	}
}
