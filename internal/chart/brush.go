package chart

import (
	"image"
	"image/color"
	"math"
)

// brush is what a backend that has no style sheet can do: fill closed paths,
// draw lines, set text.
type brush interface {
	fill(paths [][]Point, c color.RGBA, opacity float64)
	stroke(paths [][]Point, pen pen, c color.RGBA, opacity float64)
	set(pieces []piece, y, px float64, bold bool, c color.RGBA)
	picture(img *image.RGBA, room Box)
}

type pen struct {
	width float64
	round bool // round ends
}

// paint renders a picture with a brush in the colours of a theme, by the same
// table of classes that the style sheet of the SVG is written from.
func (p *Picture) paint(b brush, t Theme) {
	for _, it := range p.Items {
		c := classes[it.Class]
		opacity := c.opacity
		if opacity == 0 {
			opacity = 1
		}
		switch it.Kind {
		case Stroke:
			b.stroke(c.dashed(it.Paths), pen{c.width, c.linecap() == "round"}, t.colour(c.stroke, it.Side), opacity)
		case Area:
			b.fill(it.Paths, t.colour(c.fill, it.Side), opacity)
		case Tone:
			b.picture(it.painted(t.colour(c.fill, it.Side), t.Leaf), it.Room)
		case Symbols:
			it.paintSymbols(b, c, t)
		case Text:
			b.set(pieces(it.Text, p.setStart(it), p.FontPx, c.bold), it.At[0].Y, p.FontPx, c.bold, t.colour(c.fill, it.Side))
		}
	}
}

func (it Item) paintSymbols(b brush, c class, t Theme) {
	for _, q := range it.At { // one by one: each covers those before it
		switch it.Shape {
		case Disc:
			b.fill([][]Point{circle(q, it.R)}, t.colour(c.stroke, it.Side), 1)
			continue
		case Crossed:
			b.fill([][]Point{circle(q, it.R)}, t.colour(c.fill, it.Side), 1)
		default:
			b.fill([][]Point{it.Shape.corners(q, it.R)}, t.colour(c.fill, it.Side), 1)
		}
		if c.stroke != none {
			b.stroke(it.Shape.outline(q, it.R), pen{c.width, true}, t.colour(c.stroke, it.Side), 1)
		}
	}
}

// corners of a symbol with straight sides.
func (s Shape) corners(q Point, r float64) []Point {
	if s == Outward {
		return []Point{{q.X - r, q.Y}, {q.X + r, q.Y}, {q.X, q.Y - 1.6*r}}
	}
	return []Point{{q.X - r, q.Y}, {q.X, q.Y - r}, {q.X + r, q.Y}, {q.X, q.Y + r}}
}

// outline is the lines of a symbol that has any.
func (s Shape) outline(q Point, r float64) [][]Point {
	if s == Crossed {
		ring := circle(q, r)
		k := 0.7 * r
		return [][]Point{append(ring, ring[0]),
			{{q.X - k, q.Y - k}, {q.X + k, q.Y + k}}, {{q.X + k, q.Y - k}, {q.X - k, q.Y + k}}}
	}
	c := s.corners(q, r)
	return [][]Point{append(c, c[0])}
}

// circle is a polygon near enough to one at the sizes of a chart.
func circle(q Point, r float64) []Point {
	n := int(clamp(6+4*r, 8, 32))
	out := make([]Point, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = Point{q.X + r*cos, q.Y + r*sin}
	}
	return out
}

// dashed cuts paths into the dashes of a class; paths of a class without
// dashes are returned as they are.
func (c class) dashed(paths [][]Point) [][]Point {
	if c.dash == nil {
		return paths
	}
	var out [][]Point
	for _, path := range paths {
		for i := 1; i < len(path); i++ {
			out = append(out, dashes(path[i-1], path[i], c.dash[0], c.dash[1])...)
		}
	}
	return out
}

func dashes(a, b Point, on, off float64) [][]Point {
	var out [][]Point
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	for s := 0.0; s < length; s += on + off {
		out = append(out, []Point{along(a, b, s/length), along(a, b, min(s+on, length)/length)})
	}
	return out
}

func along(a, b Point, t float64) Point {
	return Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)}
}

// segment is the rectangle that a straight piece of line of a width covers.
// Corners run the same way round as those of [circle].
func segment(a, b Point, width float64) []Point {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	if length == 0 {
		return nil
	}
	dx, dy := (b.Y-a.Y)/length*width/2, -(b.X-a.X)/length*width/2
	return []Point{{a.X + dx, a.Y + dy}, {b.X + dx, b.Y + dy}, {b.X - dx, b.Y - dy}, {a.X - dx, a.Y - dy}}
}

// inked returns what a pen covers along a path, as overlapping polygons that
// all run the same way round.
func (p pen) inked(path []Point) [][]Point {
	var out [][]Point
	for i := range path {
		inside := i > 0 && i < len(path)-1
		if p.round || inside && turns(path[i-1], path[i], path[i+1]) {
			out = append(out, circle(path[i], p.width/2))
		}
		if i > 0 {
			if s := segment(path[i-1], path[i], p.width); s != nil {
				out = append(out, s)
			}
		}
	}
	return out
}

// turns reports whether a path turns enough at b for the gap to be seen.
func turns(a, b, c Point) bool {
	ux, uy, vx, vy := b.X-a.X, b.Y-a.Y, c.X-b.X, c.Y-b.Y
	return ux*vx+uy*vy < 0.98*math.Hypot(ux, uy)*math.Hypot(vx, vy)
}
