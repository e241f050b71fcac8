package chart

import (
	"math"
	"time"
)

// Timeline is the history of a set: a line for each state, with the runs made
// in it.
type Timeline struct {
	Title, Alt string
	Until      time.Time // right end: the latest moment shown (there is no clock here)
	Items      []Period
}

// Period is one state: from a date on, to another or until now.
type Period struct {
	Label    string
	From, To time.Time // zero: unknown beginning; still so
	Side     string    // a state of a comparison has its side's colour
	Runs     []time.Time
}

// ends returns the stretch of time a timeline shows.
func (tl Timeline) ends() (from, to time.Time) {
	from, to = tl.Until, tl.Until
	take := func(t time.Time) {
		switch {
		case t.IsZero():
			return
		case from.IsZero():
			from, to = t, t
		}
		if t.Before(from) {
			from = t
		}
		if t.After(to) {
			to = t
		}
	}
	for _, it := range tl.Items {
		take(it.From)
		take(it.To)
		for _, r := range it.Runs {
			take(r)
		}
	}
	if !to.After(from) {
		return from.Add(-12 * time.Hour), to.Add(12 * time.Hour)
	}
	room := to.Sub(from) / 50
	return from.Add(-room), to.Add(room)
}

// LayoutTimeline lays a timeline out. Its height follows from the number of
// states; that of size is not used.
func LayoutTimeline(tl Timeline, size Size) *Picture {
	px := size.FontPx
	l := timelineLayout{px: px, row: 2.1 * px, left: 0.6 * px, right: size.Width - 1.2*px, above: size.Width < 600}
	if l.above {
		l.row = 3.3 * px
	} else {
		l.left = l.labelWidth(tl, 0.4*size.Width)
	}
	l.bottom = 0.6*px + l.row*float64(max(len(tl.Items), 1))
	l.from, l.to = tl.ends()
	l.pic = &Picture{Width: size.Width, Height: math.Ceil(l.bottom + 2.6*px), FontPx: px, Title: tl.Title, Desc: tl.Alt}
	l.axis()
	if len(tl.Items) == 0 {
		l.pic.text("note", "", "no states yet", (l.left+l.right)/2, l.bottom-0.8*px, Middle)
	}
	for i, it := range tl.Items {
		l.period(it, 0.6*px+l.row*float64(i))
	}
	return l.pic
}

type timelineLayout struct {
	pic         *Picture
	px, row     float64
	left, right float64
	bottom      float64
	above       bool // labels over the lines, not left of them
	from, to    time.Time
}

func (l timelineLayout) labelWidth(tl Timeline, most float64) float64 {
	w := 4 * l.px
	for _, it := range tl.Items {
		w = max(w, TextWidth(it.Label, l.px, true))
	}
	return math.Ceil(min(w, most) + 2*l.px)
}

func (l timelineLayout) x(t time.Time) float64 {
	part := t.Sub(l.from).Seconds() / l.to.Sub(l.from).Seconds()
	return l.left + clamp(part, 0, 1)*(l.right-l.left)
}

func (l timelineLayout) axis() {
	var ticks, grid [][]Point
	most := int(clamp((l.right-l.left)/(5.5*l.px), 2, 8))
	end := 0.0
	for _, t := range DateTicks(l.from, l.to, most) {
		x := l.x(time.Unix(int64(t.Value), 0))
		grid = append(grid, []Point{{x, 0.4 * l.px}, {x, l.bottom}})
		ticks = append(ticks, []Point{{x, l.bottom}, {x, l.bottom + 0.4*l.px}})
		half := TextWidth(t.Label, l.px, false) / 2
		if middle := clamp(x, half+1, l.pic.Width-half-1); middle-half > end {
			l.pic.text("tick", "", t.Label, middle, l.bottom+1.7*l.px, Middle)
			end = middle + half + 0.5*l.px
		}
	}
	l.pic.stroke("grid", "", grid)
	l.pic.stroke("axis", "", append(ticks, []Point{{l.left, l.bottom}, {l.right, l.bottom}}))
}

// period draws one state: a bar with its runs as dots; a bar that is still
// growing ends in a point.
func (l timelineLayout) period(it Period, top float64) {
	middle := top + l.row/2
	if l.above {
		middle = top + 2.3*l.px
		l.pic.text("name", it.Side, cut(it.Label, l.right-l.left, l.px, true), l.left, top+1.1*l.px, Start)
	} else {
		l.pic.text("name", it.Side, cut(it.Label, l.left-1.5*l.px, l.px, true), l.left-l.px, middle+0.33*l.px, End)
	}
	x0, x1, half := l.left, l.right, 0.38*l.px
	if !it.From.IsZero() {
		x0 = l.x(it.From)
	}
	bar := []Point{{x0, middle - half}, {x1 - half, middle - half}, {x1, middle}, {x1 - half, middle + half}, {x0, middle + half}}
	if !it.To.IsZero() {
		x1 = max(l.x(it.To), x0+1)
		bar = []Point{{x0, middle - half}, {x1, middle - half}, {x1, middle + half}, {x0, middle + half}}
	}
	l.pic.area("state", it.Side, [][]Point{bar})
	var at []Point
	for _, r := range it.Runs {
		at = append(at, Point{l.x(r), middle})
	}
	if it.Side == "b" {
		l.pic.symbols("ring", it.Side, Diamond, 4, at)
		return
	}
	l.pic.symbols("dot", it.Side, Disc, 3, at)
}
