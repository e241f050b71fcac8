package chart

import (
	"fmt"
	"math"

	"setwright/internal/measure"
)

// The order of drawing: bands under readings, readings under lines.
var drawOrder = []struct {
	kind string
	draw func(*sheet, measure.Layer)
}{
	{measure.LayerTones, (*sheet).tones},
	{measure.LayerBand, (*sheet).band},
	{measure.LayerPoints, (*sheet).points},
	{measure.LayerAside, (*sheet).aside},
	{measure.LayerHist, (*sheet).steps},
	{measure.LayerBars, (*sheet).bars},
	{measure.LayerLine, (*sheet).lines},
}

func (s *sheet) layers() {
	drawn := 0
	for _, o := range drawOrder {
		for _, l := range s.plot.Layers {
			if l.Kind == o.kind {
				before := len(s.pic.Items)
				o.draw(s, l)
				drawn += len(s.pic.Items) - before
			}
		}
	}
	if drawn == 0 {
		s.label("note", "", "no readings to draw", Point{(s.frame.X0 + s.frame.X1) / 2, (s.frame.Y0 + s.frame.Y1) / 2}, Middle)
	}
	if s.x.dropped+s.y.dropped > 0 {
		s.notes = append(s.notes, fmt.Sprintf("%s at or below zero, not on this axis", countOf(s.x.dropped+s.y.dropped, "value")))
	}
}

func countOf(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return Number(float64(n), 0) + " " + noun
}

// places returns the places of a layer's points that have one.
func (s *sheet) places(l measure.Layer) []Point {
	var out []Point
	for i := range layerLen(l) {
		if q := s.at(l.X[i], l.Y[i]); q.ok() {
			out = append(out, q)
		}
	}
	return out
}

// dotRadius is smaller the more dots there are: n of them over all layers.
// Several crowded records over each other get the smallest, so that one does
// not hide the next.
func dotRadius(n int, width float64) float64 {
	perPx := float64(n) / width
	least := 1.5
	if perPx > 2 {
		least = 0.9
	}
	return tenth(clamp(3.2-2.4*perPx, least, 3.2))
}

// readings is the number of points over all layers of points.
func (s *sheet) readings() int {
	n := 0
	for _, l := range s.plot.Layers {
		if l.Kind == measure.LayerPoints {
			n += layerLen(l)
		}
	}
	return n
}

func (s *sheet) points(l measure.Layer) {
	places := s.places(l)
	if len(places) > eachDrawn {
		strokes := thin(places)
		s.pic.stroke("dense", l.Side, strokes)
		for _, st := range strokes {
			s.placer.path(st, dataInk)
		}
		return
	}
	if l.Side == measure.SideNone && s.hasLine() {
		s.symbols("under", l.Side, places)
		return
	}
	s.symbols("dot", l.Side, places)
}

// hasLine reports whether a line of no side is drawn over readings of none:
// then the readings are lighter, so that both are seen.
func (s *sheet) hasLine() bool {
	for _, l := range s.plot.Layers {
		if l.Kind == measure.LayerLine && l.Side == measure.SideNone && layerLen(l) > 0 {
			return true
		}
	}
	return false
}

// symbols draws readings with the mark of their side.
func (s *sheet) symbols(class, side string, places []Point) {
	for _, q := range places {
		s.placer.dot(q, dataInk)
	}
	r := dotRadius(max(len(places), s.readings()), s.frame.width())
	if class == "under" {
		r = tenth(r + 0.4) // to be seen on both sides of the line
	}
	if side == measure.SideB {
		s.pic.symbols("ring", side, Diamond, tenth(r+min(1, r/2)), places)
		return
	}
	s.pic.symbols(class, side, Disc, r, places)
}

// aside draws readings set aside, hollow and crossed; those beyond the axis
// as arrowheads at its edge, with a note.
func (s *sheet) aside(l measure.Layer) {
	var inside, above, below []Point
	for _, q := range s.places(l) {
		switch {
		case q.Y < s.frame.Y0-1:
			above = append(above, Point{q.X, s.frame.Y0})
		case q.Y > s.frame.Y1+1:
			below = append(below, Point{q.X, s.frame.Y1 - 1})
		default:
			inside = append(inside, q)
		}
		s.placer.dot(q, dataInk)
	}
	s.pic.symbols("aside", l.Side, Crossed, 3.6, inside)
	s.pic.symbols("off", l.Side, Outward, 4, above)
	s.pic.symbols("off", l.Side, Outward, -4, below)
	if n := len(above) + len(below); n > 0 {
		s.notes = append(s.notes, countOf(n, "reading")+" set aside beyond this picture")
	}
}

// runs returns the unbroken stretches of points: NaN breaks a line.
func (s *sheet) runs(x, y []float64) [][]Point {
	var out [][]Point
	var run []Point
	for i := range min(len(x), len(y)) {
		if q := s.at(x[i], y[i]); q.ok() {
			run = append(run, q)
			continue
		}
		if len(run) > 0 {
			out, run = append(out, run), nil
		}
	}
	if len(run) > 0 {
		out = append(out, run)
	}
	return out
}

// lines draws a curve. It is narrower than a dot, so that readings are seen
// under it.
func (s *sheet) lines(l measure.Layer) {
	s.pic.stroke("line", l.Side, s.thinned(s.runs(l.X, l.Y)))
}

// thinned thins paths and remembers them as ink; a lone point becomes a dot
// (a line of no length).
func (s *sheet) thinned(paths [][]Point) [][]Point {
	for i := range paths {
		paths[i] = thinLine(paths[i], int(s.frame.width()))
		if len(paths[i]) == 1 {
			paths[i] = append(paths[i], paths[i][0])
		}
		s.placer.path(paths[i], dataInk)
	}
	return paths
}

func (s *sheet) steps(l measure.Layer) {
	var paths [][]Point
	for _, run := range s.runs(l.X, l.Y) {
		var path []Point
		for i, q := range run {
			if i > 0 {
				path = append(path, Point{q.X, run[i-1].Y})
			}
			path = append(path, q)
		}
		paths = append(paths, path)
	}
	s.pic.stroke("line", l.Side, s.thinned(paths))
}

// band fills between Lo and Hi, broken where either is missing.
func (s *sheet) band(l measure.Layer) {
	var areas [][]Point
	var low, high []Point
	closeUp := func() {
		if len(low) > 1 {
			areas = append(areas, outline(thinLine(low, int(s.frame.width())), thinLine(high, int(s.frame.width()))))
		}
		low, high = nil, nil
	}
	for i := range layerLen(l) {
		a, b := s.clipped(l.X[i], l.Lo[i]), s.clipped(l.X[i], l.Hi[i])
		if !hasPlace(l, i) || !a.ok() || !b.ok() {
			closeUp()
			continue
		}
		low, high = append(low, a), append(high, b)
	}
	closeUp()
	s.pic.area("band", l.Side, areas)
}

// outline goes along one side and back along the other.
func outline(low, high []Point) []Point {
	out := append([]Point(nil), high...)
	for i := len(low) - 1; i >= 0; i-- {
		out = append(out, low[i])
	}
	return out
}

// clipped places the end of a bar or band: what a log axis cannot show (a
// lower limit of zero) goes to its edge.
func (s *sheet) clipped(x, y float64) Point {
	q := s.at(x, y)
	if s.y.log && y-s.y.offset < tiny {
		q = s.at(x, s.y.lo+s.y.offset)
	}
	q.Y = clamp(q.Y, s.frame.Y0, s.frame.Y1)
	return q
}

func (s *sheet) bars(l measure.Layer) {
	var strokes [][]Point
	cap := 0.3 * s.px
	for i := range layerLen(l) {
		lo, hi := s.clipped(l.X[i], l.Lo[i]), s.clipped(l.X[i], l.Hi[i])
		if !hasPlace(l, i) || !lo.ok() || !hi.ok() {
			continue
		}
		strokes = append(strokes, []Point{lo, hi},
			[]Point{{lo.X - cap, lo.Y}, {lo.X + cap, lo.Y}}, []Point{{hi.X - cap, hi.Y}, {hi.X + cap, hi.Y}})
		s.placer.path([]Point{lo, hi}, dataInk)
	}
	s.pic.stroke("bars", l.Side, strokes)
	s.symbols("dot", l.Side, s.places(l))
}

// inFrame reports whether an x place lies in the frame.
func (s *sheet) inFrame(x float64) bool {
	return !math.IsNaN(x) && x >= s.frame.X0-0.5 && x <= s.frame.X1+0.5
}
