package chart

import (
	"image"
	"math"
)

// Picture is a display list: what is drawn and where, in px from the upper
// left corner, in drawing order. All backends render the same list.
type Picture struct {
	Width, Height float64
	FontPx        float64 // size of all text
	Title, Desc   string  // for those who cannot see it
	Items         []Item
}

// Kind says what an item is.
type Kind int

// The kinds of item.
const (
	Stroke  Kind = iota // lines along Paths
	Area                // Paths, closed and filled
	Symbols             // one Shape of radius R at each of At
	Text                // Text at At[0]
	Tone                // Cells over Room
)

// Shape is the shape of a symbol.
type Shape int

// The shapes of symbols.
const (
	Disc    Shape = iota // a reading
	Diamond              // a reading of side B
	Crossed              // a reading set aside: a ring with a cross
	Outward              // off the picture: an arrowhead up (R < 0: down)
)

// Anchor says which end of a text its place is.
type Anchor string

// The anchors of text.
const (
	Start  Anchor = "start"
	Middle Anchor = "middle"
	End    Anchor = "end"
)

// Point is a place in px.
type Point struct{ X, Y float64 }

// Item is one thing drawn. Class says what it is (see style.go), Side whose.
type Item struct {
	Kind   Kind
	Class  string
	Side   string
	Paths  [][]Point // Stroke, Area
	Shape  Shape     // Symbols
	R      float64   // Symbols
	At     []Point   // Symbols; Text: its place, on the baseline
	Text   string
	Anchor Anchor
	Room   Box         // Tone
	Cells  *image.Gray // Tone: 0 for none to 255 for full ink
}

// Box is a rectangle in px.
type Box struct{ X0, Y0, X1, Y1 float64 }

// Overlaps reports whether two boxes share more than an edge.
func (b Box) Overlaps(o Box) bool {
	return b.X0 < o.X1 && o.X0 < b.X1 && b.Y0 < o.Y1 && o.Y0 < b.Y1
}

// Within reports whether b lies inside o.
func (b Box) Within(o Box) bool {
	return b.X0 >= o.X0 && b.X1 <= o.X1 && b.Y0 >= o.Y0 && b.Y1 <= o.Y1
}

func (b Box) width() float64  { return b.X1 - b.X0 }
func (b Box) height() float64 { return b.Y1 - b.Y0 }

// TextBox returns the room a text item takes, by the metrics of the font.
func (p *Picture) TextBox(it Item) Box {
	return textBox(it.Text, it.At[0], it.Anchor, p.FontPx, classes[it.Class].bold)
}

func textBox(s string, at Point, anchor Anchor, px float64, bold bool) Box {
	w := TextWidth(s, px, bold)
	x := at.X
	switch anchor {
	case Middle:
		x -= w / 2
	case End:
		x -= w
	}
	return Box{x, at.Y - 0.78*px, x + w, at.Y + 0.24*px}
}

// tenth rounds a coordinate to a tenth of a px, so that the last bits of
// floating point arithmetic, which may differ between processors, do not show.
func tenth(v float64) float64 {
	r := math.Round(v*10) / 10
	if r == 0 {
		return 0 // and not −0
	}
	return r
}

func (p *Picture) text(class, side, s string, x, y float64, anchor Anchor) {
	p.Items = append(p.Items, Item{Kind: Text, Class: class, Side: side, Text: s,
		At: []Point{{tenth(x), tenth(y)}}, Anchor: anchor})
}

func (p *Picture) line(class, side string, x0, y0, x1, y1 float64) {
	p.stroke(class, side, [][]Point{{{x0, y0}, {x1, y1}}})
}

func (p *Picture) stroke(class, side string, paths [][]Point) {
	if len(paths) > 0 {
		p.Items = append(p.Items, Item{Kind: Stroke, Class: class, Side: side, Paths: rounded(paths)})
	}
}

func (p *Picture) area(class, side string, paths [][]Point) {
	if len(paths) > 0 {
		p.Items = append(p.Items, Item{Kind: Area, Class: class, Side: side, Paths: rounded(paths)})
	}
}

func (p *Picture) symbols(class, side string, shape Shape, r float64, at []Point) {
	if len(at) > 0 {
		p.Items = append(p.Items, Item{Kind: Symbols, Class: class, Side: side, Shape: shape, R: r,
			At: rounded([][]Point{at})[0]})
	}
}

func rounded(paths [][]Point) [][]Point {
	out := make([][]Point, len(paths))
	for i, path := range paths {
		out[i] = make([]Point, len(path))
		for j, q := range path {
			out[i][j] = Point{tenth(q.X), tenth(q.Y)}
		}
	}
	return out
}

// shifted returns a copy of the items moved down by dy.
func shifted(items []Item, dy float64) []Item {
	out := make([]Item, len(items))
	for i, it := range items {
		it.At, it.Paths = shiftAll(it.At, dy), append([][]Point(nil), it.Paths...)
		it.Room.Y0, it.Room.Y1 = it.Room.Y0+dy, it.Room.Y1+dy
		for j, path := range it.Paths {
			it.Paths[j] = shiftAll(path, dy)
		}
		out[i] = it
	}
	return out
}

func shiftAll(points []Point, dy float64) []Point {
	out := make([]Point, len(points))
	for i, q := range points {
		out[i] = Point{q.X, tenth(q.Y + dy)}
	}
	return out
}
