package passband

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
)

// Point is one reading of the response.
type Point struct {
	Hz float64 // frequency, or distance from any fixed one
	DB float64 // response
	// UdB and UHz are standard uncertainties of this reading that are known:
	// the last digit of the level and of the frequency.
	UdB, UHz float64
	Index    int // of the reading it comes from
}

// Options of a fit. The zero value is the default.
type Options struct {
	// ScatterKnown says that UdB holds all of the reading errors, as for noise
	// whose averages are counted. Else the scatter is taken from the points.
	ScatterKnown bool
	Draws        int // responses drawn for the uncertainties; 0: 400
	Grid         int // places between the outermost points; 0: 400
}

// Curve is a fitted response.
type Curve struct {
	Hz       []float64 // grid, rising, from the first point to the last
	DB, UdB  []float64 // response and its standard uncertainty
	Slope    []float64 // dB per hertz
	Draws    [][]float64
	Points   []Point // sorted by frequency
	Scatter  float64 // standard deviation of the readings, dB
	ScatterU float64 // standard deviation of its logarithm
	MiddleHz float64 // first guess of the middle
	HalfHz   float64 // and of the half-width
}

// LeastPoints is the least number of different frequencies of a fit.
const LeastPoints = 5

// Fit fits a response to points in any order. It refuses fewer than LeastPoints
// frequencies and numbers that are not finite.
func Fit(ctx context.Context, points []Point, o Options) (*Curve, error) {
	if o.Draws == 0 {
		o.Draws = 300
	}
	if o.Grid == 0 {
		o.Grid = 300
	}
	sorted := append([]Point(nil), points...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].Hz < sorted[j].Hz })
	for _, p := range sorted {
		if !finite(p.Hz) || !finite(p.DB) || !finite(p.UdB) || !finite(p.UHz) {
			return nil, fmt.Errorf("reading %d: found %g dB at %g Hz, expected finite numbers", p.Index+1, p.DB, p.Hz)
		}
	}
	if n := different(sorted); n < LeastPoints {
		return nil, fmt.Errorf("found %d different frequencies, expected %d at least", n, LeastPoints)
	}
	c := &Curve{Points: sorted}
	c.guess()
	var slopes, rough []float64 // first without what an error of frequency brings, then with it
	passes := 2
	if o.ScatterKnown {
		passes = adaptivePasses
	}
	for pass := range passes {
		nodes := c.pointNodes(slopes)
		for i, r := range rough {
			nodes[i].rough = r
		}
		cells := weigh(nodes, o.ScatterKnown)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		draws := o.Draws
		if pass < passes-1 {
			draws = 0 // only the slopes are wanted
		}
		c.build(nodes, cells, o.Grid, draws)
		slopes = c.Slope
		if o.ScatterKnown {
			rough = c.roughness(nodes)
		}
	}
	return c, ctx.Err()
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func different(sorted []Point) int {
	n := 0
	for i, p := range sorted {
		if i == 0 || p.Hz > sorted[i-1].Hz {
			n++
		}
	}
	return n
}

// guess sets the middle and the half-width: the outermost places 6 dB below
// the largest reading on straight lines between the readings, or where they end.
func (c *Curve) guess() {
	var x, y []float64
	for _, p := range c.Points {
		if n := len(x); n > 0 && p.Hz == x[n-1] {
			y[n-1] = math.Max(y[n-1], p.DB)
			continue
		}
		x, y = append(x, p.Hz), append(y, p.DB)
	}
	e := edges(x, y, maximum(y)-6)
	c.MiddleHz, c.HalfHz = (e.Lo+e.Hi)/2, (e.Hi-e.Lo)/2
	if span := x[len(x)-1] - x[0]; c.HalfHz < span/1e5 {
		c.HalfHz = span / 1e5
	}
}

func maximum(y []float64) float64 {
	top := math.Inf(-1)
	for _, v := range y {
		top = math.Max(top, v)
	}
	return top
}

// warp is the scale on which the curve is smooth.
func (c *Curve) warp(hz float64) float64 { return math.Asinh((hz - c.MiddleHz) / c.HalfHz) }

func (c *Curve) unwarp(u float64) float64 { return c.MiddleHz + c.HalfHz*math.Sinh(u) }

// pointNodes merges readings at one frequency and adds what an error of
// frequency makes on the slope of the curve.
func (c *Curve) pointNodes(slopes []float64) []node {
	var nodes []node
	var last float64
	for _, p := range c.Points {
		known := p.UdB * p.UdB
		if slopes != nil && p.UHz > 0 {
			e := c.SlopeAt(p.Hz) * p.UHz
			known += e * e
		}
		known = math.Max(known, 1e-8)
		if n := len(nodes); n > 0 && p.Hz == last {
			nodes[n-1].merge(p.DB, known)
			continue
		}
		n := node{has: true, y: p.DB, known: known, per: 1}
		if len(nodes) > 0 {
			n.du = c.warp(p.Hz) - c.warp(last)
		}
		nodes, last = append(nodes, n), p.Hz
	}
	return nodes
}

// merge takes another reading at the same place into the mean.
func (n *node) merge(y, known float64) {
	k := n.per
	n.y = (n.y*k + y) / (k + 1)
	n.known = (n.known*k*k + known) / ((k + 1) * (k + 1))
	n.per = k + 1
}

// build computes the curve, its uncertainty and the draws on a grid that holds
// all points.
func (c *Curve) build(points []node, cells []cell, grid, draws int) {
	nodes := c.grid(points, grid)
	n := len(nodes)
	c.DB, c.UdB, c.Slope = make([]float64, n), make([]float64, n), make([]float64, n)
	second := make([]float64, n)
	filtered, smooth := make([]state, n), make([]state, n)
	rng := rand.New(rand.NewPCG(0x5e1ec7, 0x1f))
	c.Draws = c.Draws[:0]
	done, want := 0, 0.0
	for _, cell := range cells {
		forward(nodes, cell.q, cell.noise*cell.noise, filtered)
		smoothed(nodes, cell.q, filtered, smooth)
		for i, s := range smooth {
			c.DB[i] += cell.weight * s.m
			c.Slope[i] += cell.weight * s.d
			second[i] += cell.weight * (s.m*s.m + s.pmm)
		}
		for want += cell.weight * float64(draws); float64(done)+0.5 < want; done++ {
			out := make([]float64, n)
			draw(nodes, cell.q, filtered, rng.NormFloat64, out)
			c.Draws = append(c.Draws, out)
		}
	}
	for i := range second {
		c.UdB[i] = math.Sqrt(math.Max(second[i]-c.DB[i]*c.DB[i], 0))
		// du/df = 1/(h sqrt(1+x²))
		x := (c.Hz[i] - c.MiddleHz) / c.HalfHz
		c.Slope[i] /= c.HalfHz * math.Sqrt(1+x*x)
	}
	c.Scatter, c.ScatterU = scatterOf(cells)
}

// grid puts further places between the points and sets c.Hz.
func (c *Curve) grid(points []node, want int) []node {
	total := 0.0
	for _, p := range points {
		total += p.du
	}
	var out []node
	c.Hz = c.Hz[:0]
	u := c.warp(c.Points[0].Hz)
	for i, p := range points {
		if i > 0 {
			parts := int(math.Ceil(p.du / total * float64(want)))
			for k := 1; k < parts; k++ {
				out = append(out, node{du: p.du / float64(parts), rough: p.rough})
				c.Hz = append(c.Hz, c.unwarp(u+p.du*float64(k)/float64(parts)))
			}
			u += p.du
			p.du /= float64(parts)
		}
		out = append(out, p)
		c.Hz = append(c.Hz, c.unwarp(u))
	}
	return out
}

// At returns the response at a frequency within the points.
func (c *Curve) At(hz float64) float64 { return interpolate(c.Hz, c.DB, hz) }

// UAt returns the standard uncertainty of the response.
func (c *Curve) UAt(hz float64) float64 { return interpolate(c.Hz, c.UdB, hz) }

// SlopeAt returns the slope in dB per hertz.
func (c *Curve) SlopeAt(hz float64) float64 { return interpolate(c.Hz, c.Slope, hz) }

// interpolate returns y at x on straight lines, the end values outside.
func interpolate(xs, ys []float64, x float64) float64 {
	i := sort.SearchFloat64s(xs, x)
	if i == 0 {
		return ys[0]
	}
	if i == len(xs) {
		return ys[len(ys)-1]
	}
	t := (x - xs[i-1]) / (xs[i] - xs[i-1])
	return ys[i-1] + t*(ys[i]-ys[i-1])
}
