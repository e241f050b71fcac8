package passband

import "math"

// Notch is a rejection notch beside the passband, or in it.
type Notch struct {
	Hz       float64 // of the vertex
	HzU      float64
	FromHz   float64 // the vertex lies between
	ToHz     float64
	Depth, U float64 // below the maximum of the response, dB
	Bound    bool    // the points do not resolve the vertex: deeper than Depth
	Readings int     // that took part
	Shoulder float64 // the response beyond it, below the maximum, dB
}

// Notch fits the vertex of a notch: near it the response goes as
// a + b(f − f0) + 10 lg((f − fn)² + w²), a zero of the transfer function whose
// loss keeps it from being complete. Where the points do not say how narrow it is,
// its depth is a bound.
func (r Result) Notch(v Valley) Notch {
	points := r.around(v)
	n := Notch{Hz: v.Hz, Readings: len(points), Shoulder: r.Top - math.Min(r.curve.At(v.LeftHz), r.curve.At(v.RightHz))}
	deepest := 0
	for i, p := range points {
		if p.DB < points[deepest].DB {
			deepest = i
		}
	}
	if len(points) < 3 {
		n.Bound, n.FromHz, n.ToHz, n.Depth = true, v.LeftHz, v.RightHz, r.Top-r.curve.At(v.Hz)
		return n
	}
	n.FromHz, n.ToHz = points[max(deepest-1, 0)].Hz, points[min(deepest+1, len(points)-1)].Hz
	fit := fitDip(points, n.FromHz, n.ToHz, r.errorOf)
	n.Depth, n.U, n.Hz, n.HzU = r.Top-fit.depth, fit.depthU, fit.hz, fit.hzU
	if !finite(fit.depthU) || fit.depthU > 3 || len(points) < 6 {
		p := points[deepest]
		n.Bound, n.U = true, r.errorOf(p)
		n.Depth = r.Top - p.DB - 2*n.U
	}
	return n
}

// errorOf is the standard uncertainty of one reading.
func (r Result) errorOf(p Point) float64 {
	return math.Max(math.Hypot(p.UdB, r.curve.Scatter), 0.02)
}

// around returns the points of a notch: as far as half way to the maximum on
// its inner side and as far again on the other.
func (r Result) around(v Valley) []Point {
	reach := math.Abs(v.Hz-r.TopHz) / 2
	reach = math.Min(reach, math.Max(v.RightHz-v.Hz, v.Hz-v.LeftHz))
	var out []Point
	for _, p := range r.curve.Points {
		if math.Abs(p.Hz-v.Hz) <= reach {
			out = append(out, p)
		}
	}
	return out
}

type dip struct{ hz, hzU, depth, depthU float64 }

// fitDip weighs places and widths of the vertex on a grid; level and slope
// are fitted to each by least squares.
func fitDip(points []Point, from, to float64, errorOf func(Point) float64) dip {
	const places, widths = 81, 91
	type cell struct{ hz, depth, chi2 float64 }
	var cells []cell
	least := math.Inf(1)
	span := to - from
	// from much narrower than the readings lie apart to as wide as they reach
	narrow, wide := span/1000, math.Max(span, points[len(points)-1].Hz-points[0].Hz)
	for i := range places {
		hz := from + span*float64(i)/(places-1)
		for k := range widths {
			w := narrow * math.Pow(wide/narrow, float64(k)/(widths-1))
			a, chi2 := lineThrough(points, hz, w, errorOf)
			cells = append(cells, cell{hz, a + 20*math.Log10(w), chi2})
			least = math.Min(least, chi2)
		}
	}
	// what the model leaves beyond the reading errors widens the result
	scale := math.Max(1, least/float64(max(len(points)-4, 1)))
	var sum, m, m2, h, h2 float64
	for _, c := range cells {
		w := math.Exp(-(c.chi2 - least) / 2 / scale)
		sum += w
		m += w * c.depth
		m2 += w * c.depth * c.depth
		h += w * (c.hz - from)
		h2 += w * (c.hz - from) * (c.hz - from)
	}
	m, m2, h, h2 = m/sum, m2/sum, h/sum, h2/sum
	step := span / (places - 1)
	return dip{
		hz: from + h, hzU: math.Sqrt(math.Max(h2-h*h, 0) + step*step/12),
		depth: m, depthU: math.Sqrt(math.Max(m2-m*m, 0)),
	}
}

// lineThrough fits level at the vertex and slope, and returns the level and
// the sum of squared deviations in standard uncertainties.
func lineThrough(points []Point, hz, w float64, errorOf func(Point) float64) (level, chi2 float64) {
	var s, sx, sy, sxx, sxy, syy float64
	for _, p := range points {
		d := p.Hz - hz
		y := p.DB - 10*math.Log10(d*d+w*w)
		g := 1 / (errorOf(p) * errorOf(p))
		s += g
		sx += g * d
		sy += g * y
		sxx += g * d * d
		sxy += g * d * y
		syy += g * y * y
	}
	det := s*sxx - sx*sx
	if det <= 0 {
		return sy / s, syy - sy*sy/s
	}
	a, b := (sxx*sy-sx*sxy)/det, (s*sxy-sx*sy)/det
	return a, math.Max(0, syy-a*sy-b*sxy)
}
