package chart

import (
	"html/template"
	"math"

	"setwright/internal/measure"
)

// Strip shows what single runs found for one figure: a row for each side, a
// mark for each run, with its standard uncertainty as a bar.
type Strip struct {
	Title, Alt string
	Label      string // of the axis
	Unit       string
	Rows       []StripRow
}

// StripRow is the runs of one side.
type StripRow struct {
	Label, Side string
	Runs        []StripRun
}

// StripRun is what one run found: X between Lo and Hi; an end that is open (a
// bound) is infinite.
type StripRun struct{ X, Lo, Hi float64 }

// InlineStrip is [Inline] for a strip.
func InlineStrip(s Strip, id string) template.HTML {
	return pair(LayoutStrip(s, Size{Width: Wide.Width, FontPx: Wide.FontPx}), LayoutStrip(s, Size{Width: Narrow.Width, FontPx: Narrow.FontPx}), id)
}

// LayoutStrip lays a strip out. Its height follows from the number of rows;
// that of size is not used.
func LayoutStrip(s Strip, size Size) *Picture {
	px := size.FontPx
	l := stripLayout{px: px, row: 2.2 * px, right: size.Width - 1.5*px}
	l.left = l.labels(s, 0.4*size.Width)
	l.bottom = 0.5*px + l.row*float64(max(len(s.Rows), 1))
	l.pic = &Picture{Width: size.Width, Height: math.Ceil(l.bottom + 3.4*px), FontPx: px, Title: s.Title, Desc: s.Alt}
	var e extent
	for _, row := range s.Rows {
		for _, r := range row.Runs {
			e.add(r.X, false)
			e.add(r.Lo, false)
			e.add(r.Hi, false)
		}
	}
	lo, hi := e.widened(false, 0.06)
	l.scale = newScale(measure.Axis{Label: s.Label, Unit: s.Unit}, lo, hi, int(clamp((l.right-l.left)/(5*px), 2, 7)))
	l.axis()
	for i, row := range s.Rows {
		l.side(row, 0.5*px+l.row*(float64(i)+0.5))
	}
	return l.pic
}

type stripLayout struct {
	pic         *Picture
	scale       *scale
	px, row     float64
	left, right float64
	bottom      float64
}

func (l stripLayout) labels(s Strip, most float64) float64 {
	w := 3 * l.px
	for _, row := range s.Rows {
		w = max(w, TextWidth(row.Label, l.px, true))
	}
	return math.Ceil(min(w, most) + 2*l.px)
}

// x is the place of a value; what lies outside, as an open end does, is at the
// edge.
func (l stripLayout) x(v float64) float64 {
	return l.left + clamp(l.scale.pos(v), 0, 1)*(l.right-l.left)
}

func (l stripLayout) axis() {
	ticks := [][]Point{{{l.left, l.bottom}, {l.right, l.bottom}}}
	var grid [][]Point
	for _, t := range l.scale.ticks {
		x := l.left + clamp(l.scale.posOff(t.Value), 0, 1)*(l.right-l.left)
		grid = append(grid, []Point{{x, 0.4 * l.px}, {x, l.bottom}})
		ticks = append(ticks, []Point{{x, l.bottom}, {x, l.bottom + 0.4*l.px}})
		l.pic.text("tick", "", t.Label, x, l.bottom+1.6*l.px, Middle)
	}
	l.pic.stroke("grid", "", grid)
	l.pic.stroke("axis", "", ticks)
	title := ""
	for _, title = range l.scale.titles {
		if TextWidth(title, l.px, false) < l.right-l.left {
			break
		}
	}
	l.pic.text("note", "", title, (l.left+l.right)/2, l.bottom+3*l.px, Middle)
}

// side draws one row: bars first, marks over them.
func (l stripLayout) side(row StripRow, y float64) {
	l.pic.text("name", row.Side, cut(row.Label, l.left-1.5*l.px, l.px, true), l.left-l.px, y+0.33*l.px, End)
	var bars [][]Point
	var at []Point
	for _, r := range row.Runs {
		if r.Hi > r.Lo {
			bars = append(bars, []Point{{l.x(r.Lo), y}, {l.x(r.Hi), y}})
		}
		if finite(r.X) {
			at = append(at, Point{l.x(r.X), y})
		}
	}
	l.pic.stroke("bars", row.Side, bars)
	if row.Side == measure.SideB {
		l.pic.symbols("ring", row.Side, Diamond, 5, at)
		return
	}
	l.pic.symbols("dot", row.Side, Disc, 4, at)
}
