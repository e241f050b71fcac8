package passband

import "math"

// Edge is the outermost places so many decibels below the maximum. A side that
// the points do not reach has the place of the outermost point.
type Edge struct {
	Lo, Hi               float64
	LoReached, HiReached bool
}

// Width is the distance of the edges; where one is not reached, what there is.
func (e Edge) Width() float64 { return e.Hi - e.Lo }

// Middle is half way between the edges.
func (e Edge) Middle() float64 { return (e.Lo + e.Hi) / 2 }

// Reached says that both edges lie within the points.
func (e Edge) Reached() bool { return e.LoReached && e.HiReached }

// edges finds the outermost crossings of a level on straight lines between
// the places. The response must be above the level somewhere.
func edges(x, y []float64, level float64) Edge {
	n := len(x)
	e := Edge{Lo: x[0], Hi: x[n-1]}
	for i := range n {
		if y[i] < level {
			continue
		}
		if i > 0 {
			e.Lo, e.LoReached = crossing(x[i-1], y[i-1], x[i], y[i], level), true
		}
		break
	}
	for i := n - 1; i >= 0; i-- {
		if y[i] < level {
			continue
		}
		if i < n-1 {
			e.Hi, e.HiReached = crossing(x[i], y[i], x[i+1], y[i+1], level), true
		}
		break
	}
	return e
}

// crossing is where a straight line from a to b has the level.
func crossing(xa, ya, xb, yb, level float64) float64 {
	if ya == yb {
		return (xa + xb) / 2
	}
	return xa + (level-ya)/(yb-ya)*(xb-xa)
}

// Downs are the levels below the maximum at which edges are found, dB.
var Downs = []float64{1, 3, 6, 20, 40, 60}

// Shape is what a response says of a passband.
type Shape struct {
	Top, TopHz float64
	Edges      []Edge // at Downs
	Noise      NoiseBand
}

// Edge returns the edge at one of Downs.
func (s Shape) Edge(down float64) Edge {
	for i, d := range Downs {
		if d == down {
			return s.Edges[i]
		}
	}
	nan := math.NaN()
	return Edge{Lo: nan, Hi: nan}
}

// ShapeOf measures a response on a grid of rising frequencies.
func ShapeOf(x, y []float64) Shape {
	s := Shape{Top: math.Inf(-1)}
	for i, v := range y {
		if v > s.Top {
			s.Top, s.TopHz = v, x[i]
		}
	}
	for _, d := range Downs {
		s.Edges = append(s.Edges, edges(x, y, s.Top-d))
	}
	s.Noise = noiseBand(x, y, s)
	return s
}

// Skew is (upper − lower half-width)/(sum) at a level, the half-widths taken
// from the middle of the edges 1 dB down; NaN where an edge is not reached.
func (s Shape) Skew(down float64) float64 {
	e, top := s.Edge(down), s.Edge(1)
	if !e.Reached() || !top.Reached() {
		return math.NaN()
	}
	m := top.Middle()
	return ((e.Hi - m) - (m - e.Lo)) / e.Width()
}

// NoiseBand is the noise bandwidth of a response: the integral of its power
// over that at the maximum.
type NoiseBand struct {
	Hz       float64 // captured plus tails
	Captured float64 // within the points
	Tails    float64 // what the skirts hold beyond the points if they fall on as they do there; +Inf where they do not fall fast enough
}

// noiseBand integrates by the trapezoid rule in linear power and reckons what
// lies beyond the points: a skirt whose power falls as the distance from the
// middle to the power −p holds P·x/(p−1) beyond x.
func noiseBand(x, y []float64, s Shape) NoiseBand {
	var b NoiseBand
	rel := func(i int) float64 { return math.Pow(10, (y[i]-s.Top)/10) }
	for i := 1; i < len(x); i++ {
		b.Captured += (x[i] - x[i-1]) * (rel(i) + rel(i-1)) / 2
	}
	middle := s.Edge(3).Middle()
	b.Tails = tail(x, y, s.Top, middle, -1) + tail(x, y, s.Top, middle, 1)
	b.Hz = b.Captured + b.Tails
	return b
}

// tail is the share beyond the last point of one side, in hertz.
func tail(x, y []float64, top, middle float64, side int) float64 {
	p, far, depth := skirt(x, y, top, middle, side)
	if !(p > 1) {
		return math.Inf(1)
	}
	return math.Pow(10, -depth/10) * far / (p - 1)
}

// skirt says how the end of one side falls: power as the distance from the
// middle to the power −p, over the outer third of the skirt; how far out the
// last point lies, and how far down, dB. p is NaN where there is no skirt.
func skirt(x, y []float64, top, middle float64, side int) (p, far, depth float64) {
	end, step := len(x)-1, -1
	if side < 0 {
		end, step = 0, 1
	}
	far, depth = math.Abs(x[end]-middle), top-y[end]
	for i := end + step; i > 0 && i < len(x)-1; i += step {
		near := math.Abs(x[i] - middle)
		if near > far/1.4 || near == 0 {
			continue
		}
		return (y[i] - y[end]) / 10 / math.Log10(far/near), far, depth
	}
	return math.NaN(), far, depth
}

// leastDepth is how far down the points must reach for an outlook, dB.
const leastDepth = 40

// Outlook is the width at a level beyond the points if the skirts fall on as
// they do at their ends; false where they do not reach far enough down, or end
// in a notch. It is no measured width.
func (r Result) Outlook(down float64) (hz float64, ok bool) {
	e, middle := r.Edge(down), r.Edge(3).Middle()
	for _, side := range []int{-1, 1} {
		if side < 0 && e.LoReached || side > 0 && e.HiReached {
			continue
		}
		p, far, depth := skirt(r.curve.Hz, r.mean, r.Top, middle, side)
		if !(p > 1) || depth < leastDepth || len(r.Notches) > 0 {
			return 0, false
		}
		at := middle + float64(side)*far*math.Pow(10, (down-depth)/(10*p))
		if side < 0 {
			e.Lo = at
		} else {
			e.Hi = at
		}
	}
	return e.Width(), true
}
