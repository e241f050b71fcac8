package audio

import (
	"math"
	"sort"
)

// point is the output at one modulation frequency, with its standard
// uncertainty against the others.
type point struct{ hz, dB, u float64 }

// response is an output against frequency: points in order, straight between
// them in decibels over the logarithm of frequency.
type response struct {
	points   []point
	ref      float64 // dB at the reference frequency
	refU     float64
	refHz    float64
	coherent bool // of a programme
}

// newResponse sorts points, joins those of one frequency, and refers them to a
// frequency; ok is false where that lies outside them.
func newResponse(points []point, refHz float64) (response, bool) {
	sort.SliceStable(points, func(i, j int) bool { return points[i].hz < points[j].hz })
	r := response{points: joined(points), refHz: refHz}
	n := len(r.points)
	if n < 2 || refHz < r.points[0].hz*0.97 || refHz > r.points[n-1].hz*1.03 {
		return r, false
	}
	r.ref, r.refU = r.at(refHz)
	return r, true
}

// joined takes the mean of points within a hundredth of one frequency.
func joined(points []point) []point {
	var out []point
	for i := 0; i < len(points); {
		j := i
		var hz, dB, u2 float64
		for ; j < len(points) && points[j].hz < points[i].hz*1.01; j++ {
			hz += points[j].hz
			dB += points[j].dB
			u2 += points[j].u * points[j].u
		}
		n := float64(j - i)
		out = append(out, point{hz / n, dB / n, math.Sqrt(u2) / n})
		i = j
	}
	return out
}

// at is the output at a frequency; beyond the points it is that at their end.
func (r response) at(hz float64) (dB, u float64) {
	p := r.points
	i := sort.Search(len(p), func(i int) bool { return p[i].hz >= hz })
	switch {
	case i == 0:
		return p[0].dB, p[0].u
	case i == len(p):
		return p[i-1].dB, p[i-1].u
	}
	q := math.Log(hz/p[i-1].hz) / math.Log(p[i].hz/p[i-1].hz)
	return (1-q)*p[i-1].dB + q*p[i].dB, math.Hypot((1-q)*p[i-1].u, q*p[i].u)
}

// edge is where a response is down by so many decibels from its reference.
type edge struct {
	hz, u   float64 // u of the points; statistical
	between float64 // of the course between points
	beyond  bool    // the points end before it; hz is then their end
	downDB  float64 // how far it is down there
}

// edge goes outward from the reference to the first place that is down by dB:
// downward in frequency where low, else upward.
func (r response) edge(low bool, dB float64) edge {
	target := r.ref - dB
	before := point{r.refHz, r.ref, r.refU}
	for _, p := range r.outward(low) {
		if p.dB <= target && before.dB > target {
			return r.cross(before, p, target)
		}
		before = p
	}
	return edge{hz: before.hz, beyond: true, downDB: r.ref - before.dB}
}

// outward lists the points from the reference outward.
func (r response) outward(low bool) []point {
	var out []point
	for _, p := range r.points {
		if low && p.hz < r.refHz*0.999 || !low && p.hz > r.refHz*1.001 {
			out = append(out, p)
		}
	}
	if low {
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// courseU is the standard uncertainty of an edge from the course of the response
// between two points, as a part of their distance on a logarithmic scale: what
// slopes from one circuit to four make of a straight line (by simulation, see
// the test).
const courseU = 0.06

// cross is the place between two points.
func (r response) cross(a, b point, target float64) edge {
	q := (a.dB - target) / (a.dB - b.dB)
	span := math.Log(b.hz / a.hz)
	hz := a.hz * math.Exp(q*span)
	u := math.Sqrt(sq((1-q)*a.u) + sq(q*b.u) + sq(r.refU))
	slope := math.Abs(span / (a.dB - b.dB))
	e := edge{hz: hz, u: hz * slope * u, between: hz * courseU * math.Abs(span), downDB: r.ref - target}
	if r.coherent { // neighbouring bands touch: nothing lies between
		e.between /= 3
	}
	return e
}

func sq(x float64) float64 { return x * x }
