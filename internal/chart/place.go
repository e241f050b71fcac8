package chart

import "math"

// inkCell is the size in px of the cells that what is drawn is remembered by.
const inkCell = 3

// How unwelcome a label is on what is drawn, for each cell it covers.
const (
	gridInk = 0.3
	dataInk = 1.0
	markInk = 3.0
)

// placer finds room for labels: never over one another, never outside the
// picture, and over as little ink as can be had.
type placer struct {
	within Box // where labels may stand: the frame, and right and above of it
	frame  Box
	px     float64
	taken  []Box
	ink    []float64 // by cell, row after row
	inRow  int       // cells in a row
}

func newPlacer(width, right float64, frame Box, px float64) *placer {
	p := &placer{within: Box{frame.X0, 1, right, frame.Y1 - 1}, frame: frame, px: px,
		inRow: int(width/inkCell) + 1}
	p.ink = make([]float64, p.inRow*(int(frame.Y1/inkCell)+1))
	return p
}

// cells calls visit with the ink of each cell under a box.
func (p *placer) cells(b Box, visit func(float64)) {
	x0, x1 := int(max(b.X0, 0)/inkCell), min(int(b.X1/inkCell), p.inRow-1)
	for y := int(max(b.Y0, 0) / inkCell); y <= int(b.Y1/inkCell) && (y+1)*p.inRow <= len(p.ink); y++ {
		for x := x0; x <= x1; x++ {
			visit(p.ink[y*p.inRow+x])
		}
	}
}

// mark remembers ink along a line.
func (p *placer) mark(a, b Point, weight float64) {
	n := int(math.Hypot(b.X-a.X, b.Y-a.Y)/inkCell) + 1
	for i := 0; i <= n; i++ {
		t := float64(i) / float64(n)
		p.dot(Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)}, weight)
	}
}

func (p *placer) dot(q Point, weight float64) {
	x, y := int(clamp(q.X, 0, 1e5)/inkCell), int(clamp(q.Y, 0, 1e5)/inkCell)
	if i := y*p.inRow + x; x < p.inRow && i < len(p.ink) {
		p.ink[i] = max(p.ink[i], weight)
	}
}

func (p *placer) path(path []Point, weight float64) {
	for i := 1; i < len(path); i++ {
		p.mark(path[i-1], path[i], weight)
	}
}

// under sums the ink under a box.
func (p *placer) under(b Box) float64 {
	sum := 0.0
	p.cells(b, func(w float64) { sum += w })
	return sum
}

// heaviest returns the heaviest ink under a box.
func (p *placer) heaviest(b Box) float64 {
	most := 0.0
	p.cells(b, func(w float64) { most = max(most, w) })
	return most
}

// candidate is a place a label could stand, with how unwelcome it is.
type candidate struct {
	at     Point
	anchor Anchor
	cost   float64
}

// place takes the best of the candidates for a label; where none is free, the
// best place in the frame, near the first candidate if it can be. It reports
// false where the picture has no room at all.
func (p *placer) place(s string, isBold bool, candidates []candidate) (candidate, bool) {
	if best, ok := p.best(s, isBold, candidates); ok {
		return best, true
	}
	if len(candidates) == 0 {
		return candidate{}, false
	}
	return p.best(s, isBold, p.anywhere(candidates[0].at))
}

func (p *placer) best(s string, isBold bool, candidates []candidate) (best candidate, ok bool) {
	bestBox := Box{}
	for _, c := range candidates {
		c.at = Point{tenth(c.at.X), tenth(c.at.Y)}
		box := textBox(s, c.at, c.anchor, p.px, isBold)
		if ok && c.cost >= best.cost || !p.free(box) {
			continue
		}
		c.cost += p.under(box)
		if !ok || c.cost < best.cost-1e-6 {
			best, bestBox, ok = c, box, true
		}
	}
	if ok { // with room at both ends, so that two labels in a row do not read as one
		room := 0.5 * p.px
		p.take(Box{bestBox.X0 - room, bestBox.Y0, bestBox.X1 + room, bestBox.Y1})
	}
	return best, ok
}

func (p *placer) free(b Box) bool {
	if !b.Within(p.within) {
		return false
	}
	for _, t := range p.taken {
		if b.Overlaps(t) {
			return false
		}
	}
	return true
}

func (p *placer) take(b Box) { p.taken = append(p.taken, b) }

// anywhere lists places all over the frame, the nearer to q the better.
func (p *placer) anywhere(q Point) []candidate {
	var out []candidate
	for y := p.frame.Y0 + p.px; y < p.frame.Y1-2; y += p.px / 2 {
		for x := p.frame.X0 + 4; x < p.frame.X1; x += 2 * p.px {
			out = append(out, candidate{Point{x, y}, Start, math.Hypot(x-q.X, y-q.Y) / p.px})
		}
	}
	return out
}
