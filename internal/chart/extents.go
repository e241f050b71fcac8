package chart

import (
	"setwright/internal/measure"
)

// extents returns the ranges of both axes, less their offsets, with room
// around the data. Readings set aside do not stretch the y axis (one double
// count would flatten the rest); those beyond it are shown at the edge.
func (s *sheet) extents() (xs, ys extent) {
	for _, l := range s.plot.Layers {
		for i := range layerLen(l) {
			if !hasPlace(l, i) {
				continue
			}
			xs.add(l.X[i]-s.plot.X.Offset, s.plot.X.Log)
			if l.Kind != measure.LayerAside {
				s.addY(&ys, l, i)
			}
		}
	}
	if t := s.toneGrid(); t != nil { // which fills the frame
		for _, x := range []float64{t.X0, t.X1} {
			xs.add(x-s.plot.X.Offset, s.plot.X.Log)
		}
		ys = extent{}
		for _, y := range []float64{t.Y0, t.Y1} {
			ys.add(y-s.plot.Y.Offset, s.plot.Y.Log)
		}
		return xs, ys
	}
	for _, m := range s.plot.Marks {
		xs.add(m.X-s.plot.X.Offset, s.plot.X.Log)
		if m.HasY {
			ys.add(m.Y-s.plot.Y.Offset, s.plot.Y.Log)
		}
	}
	s.addSpans(&ys)
	s.addAside(&ys)
	xs.lo, xs.hi = s.widenX(xs)
	ys.lo, ys.hi = ys.widened(s.plot.Y.Log, 0.06)
	return xs, ys
}

// toneGrid is the grid of values of the plot, or nil.
func (s *sheet) toneGrid() *measure.Tones {
	for _, l := range s.plot.Layers {
		if l.Kind == measure.LayerTones && l.Tones != nil {
			return l.Tones
		}
	}
	return nil
}

func (s *sheet) addY(ys *extent, l measure.Layer, i int) {
	log, off := s.plot.Y.Log, s.plot.Y.Offset
	if l.Kind != measure.LayerBand {
		ys.add(l.Y[i]-off, log)
	}
	if l.Kind != measure.LayerBand && l.Kind != measure.LayerBars {
		return
	}
	for _, v := range []float64{l.Lo[i] - off, l.Hi[i] - off} {
		if !log || v >= tiny { // a bar down to zero goes to the edge; no reading is lost
			ys.add(v, log)
		}
	}
}

// addAside takes in the readings set aside that lie near the others; where
// there are no others, all of them.
func (s *sheet) addAside(ys *extent) {
	data := *ys
	room := 0.6 * (data.hi - data.lo)
	for _, l := range s.plot.Layers {
		for i := range layerLen(l) {
			if l.Kind != measure.LayerAside {
				continue
			}
			v := l.Y[i] - s.plot.Y.Offset
			if !data.any || v >= data.lo-room && v <= data.hi+room {
				ys.add(v, s.plot.Y.Log)
			}
		}
	}
}

// addSpans stretches the range to take in the bands of tolerance, but by no
// more than 0.4 of the data on either side: a wide band must not flatten
// what was measured.
func (s *sheet) addSpans(ys *extent) {
	if s.plot.Y.Log {
		return
	}
	data := *ys
	room := 0.4 * (data.hi - data.lo)
	for _, sp := range s.plot.Spans {
		if sp.Axis != "y" {
			continue
		}
		for _, v := range []float64{sp.From - s.plot.Y.Offset, sp.To - s.plot.Y.Offset} {
			if !data.any || v >= data.lo-room && v <= data.hi+room {
				ys.add(v, false)
			}
		}
	}
}

// widenX starts an axis at zero where the data nearly do (a record from cold
// begins at power-on), and leaves no other room on a time axis.
func (s *sheet) widenX(xs extent) (lo, hi float64) {
	a := s.plot.X
	if !a.Log && xs.any && xs.lo >= 0 && xs.lo <= 0.15*xs.hi {
		xs.lo = 0
	}
	room := 0.03
	if a.Unit == "s" && !a.Log {
		room = 0
	}
	lo, hi = xs.widened(a.Log, room)
	if xs.lo == 0 && xs.hi > 0 && !a.Log {
		lo = 0
	}
	return lo, hi
}

// hasPlace reports whether the i-th of a layer can be drawn somewhere.
func hasPlace(l measure.Layer, i int) bool {
	stretch := func() bool { return finite(l.Lo[i]) && finite(l.Hi[i]) }
	switch l.Kind {
	case measure.LayerBand:
		return finite(l.X[i]) && stretch()
	case measure.LayerBars:
		return finite(l.X[i]) && (finite(l.Y[i]) || stretch())
	}
	return finite(l.X[i]) && finite(l.Y[i])
}

// layerLen is the number of places of a layer that have all they need.
func layerLen(l measure.Layer) int {
	switch l.Kind {
	case measure.LayerBand:
		return min(len(l.X), len(l.Lo), len(l.Hi))
	case measure.LayerBars:
		return min(len(l.X), len(l.Y), len(l.Lo), len(l.Hi))
	}
	return min(len(l.X), len(l.Y))
}
