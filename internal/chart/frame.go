package chart

import (
	"math"
)

// setScales chooses ranges, ticks and frame. The frame depends on how wide the
// labels are, the number of ticks on the size of the frame; one pass each way
// settles it, y before x.
func (s *sheet) setScales(size Size) {
	xs, ys := s.extents()
	s.frame = Box{0, 2.5 * s.px, size.Width, size.Height - 3.8*s.px}
	s.chooseYTicks(ys)
	s.frame.X0 = math.Ceil(max(widest(s.y.ticks, s.px), 1.5*s.px) + 0.9*s.px)
	s.margin = s.marginLabels()
	s.frame.X1 = math.Floor(size.Width - max(s.marginWidth(), 1.2*s.px))
	s.chooseXTicks(xs)
}

func clamp(v, lo, hi float64) float64 { return math.Min(math.Max(v, lo), hi) }

// chooseYTicks takes the most ticks whose labels stand clear of each other (on
// a log axis they are not evenly spaced).
func (s *sheet) chooseYTicks(ys extent) {
	for most := int(clamp(s.frame.height()/(2.7*s.px), 3, 9)); ; most-- {
		s.y = newScale(s.plot.Y, ys.lo, ys.hi, most)
		if s.y.dropped = ys.dropped; most <= 2 || s.clearY() {
			break
		}
	}
	if !ys.any {
		s.y.blank()
	}
}

func (s *sheet) clearY() bool {
	for i := 1; i < len(s.y.ticks); i++ {
		a, b := s.y.posOff(s.y.ticks[i-1].Value), s.y.posOff(s.y.ticks[i].Value)
		if (b-a)*s.frame.height() < 1.3*s.px {
			return false
		}
	}
	return true
}

// chooseXTicks takes the most ticks whose labels stand clear of each other and
// of the edges of the picture.
func (s *sheet) chooseXTicks(xs extent) {
	for most := int(clamp(s.frame.width()/(3.6*s.px), 2, 8)); ; most-- {
		s.x = newScale(s.plot.X, xs.lo, xs.hi, most)
		if s.x.dropped = xs.dropped; most <= 2 || s.clear(s.x) {
			break
		}
	}
	if !xs.any {
		s.x.blank()
	}
	if len(s.x.ticks) > 0 { // the last label must not be cut off
		last := s.x.ticks[len(s.x.ticks)-1]
		right := s.px2x(s.x.posOff(last.Value)) + TextWidth(last.Label, s.px, false)/2
		s.frame.X1 -= math.Ceil(max(0, right-s.pic.Width+2))
	}
}

func (s *sheet) clear(x *scale) bool {
	end := math.Inf(-1)
	for _, t := range x.ticks {
		half := TextWidth(t.Label, s.px, false) / 2
		at := s.px2x(x.posOff(t.Value))
		if at-half < end+0.8*s.px {
			return false
		}
		end = at + half
	}
	return true
}

func widest(ticks []Tick, px float64) float64 {
	w := 0.0
	for _, t := range ticks {
		w = max(w, TextWidth(t.Label, px, false))
	}
	return w
}
