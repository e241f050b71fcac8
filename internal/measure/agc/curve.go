package agc

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat"
)

// baselineDB is the shortest piece of the curve over which a local slope is
// taken: less, and it is that of the readings' noise.
const baselineDB = 5

// windowDB is the half-width within which readings that stand close together
// share a fitted level. Readings further apart than this are joined as they are.
const windowDB = 4

// curve is a static curve: output in dB that never falls as the input in dBm
// rises, straight between its nodes.
type curve struct{ x, y []float64 }

// fitCurve puts a monotone curve through readings, which are sorted by input.
// Every level of input becomes a node: the median of its readings, or, where
// three levels and more lie within windowDB of it, the height there of a robust
// local line. Nodes that fall are then pooled with their neighbours (isotonic
// regression by pooling adjacent violators; from memory of Barlow et al. 1972).
func fitCurve(x, y []float64) curve {
	levels := groups(x, y)
	c := curve{}
	weights := make([]float64, len(levels))
	for i, g := range levels {
		c.x = append(c.x, g.x)
		c.y = append(c.y, localLevel(levels, i))
		weights[i] = float64(len(g.y))
	}
	poolAdjacent(c.y, weights)
	return c
}

// group is the readings at one level of input.
type group struct {
	x float64
	y []float64
}

func (g group) median() float64 {
	s := append([]float64(nil), g.y...)
	sort.Float64s(s)
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// groups gathers readings within 0.05 dB of input.
func groups(x, y []float64) []group {
	var out []group
	for i := range x {
		if n := len(out); n > 0 && x[i]-out[n-1].x < 0.05 {
			out[n-1].y = append(out[n-1].y, y[i])
			continue
		}
		out = append(out, group{x: x[i], y: []float64{y[i]}})
	}
	return out
}

// localLevel is the height of the curve at the i-th level.
func localLevel(levels []group, i int) float64 {
	var x, y, w []float64
	at := levels[i].x
	near := 0
	for _, g := range levels {
		d := math.Abs(g.x-at) / windowDB
		if d >= 1 {
			continue
		}
		near++
		for _, v := range g.y {
			x, y, w = append(x, g.x-at), append(y, v), append(w, math.Pow(1-d*d*d, 3)) // tricube
		}
	}
	if near < 3 {
		return levels[i].median()
	}
	return robustLine(x, y, w)
}

// robustLine is the height at 0 of a straight line fitted with weights and then
// again with Tukey's biweight of the residuals (Cleveland 1979, locally
// weighted regression, from memory).
func robustLine(x, y, w []float64) float64 {
	weights := append([]float64(nil), w...)
	a := 0.0
	for range 4 {
		var b float64
		a, b = stat.LinearRegression(x, y, weights, false)
		r := make([]float64, len(x))
		for i := range x {
			r[i] = math.Abs(y[i] - a - b*x[i])
		}
		s := append([]float64(nil), r...)
		sort.Float64s(s)
		scale := 6 * s[len(s)/2]
		if scale < 1e-9 || math.IsNaN(a) {
			break
		}
		for i := range weights {
			weights[i] = w[i] * biweight(r[i]/scale)
		}
	}
	return a
}

func biweight(u float64) float64 {
	if u >= 1 {
		return 0
	}
	return (1 - u*u) * (1 - u*u)
}

// poolAdjacent makes y non-decreasing by weighted means of the runs that fall.
func poolAdjacent(y, w []float64) {
	type block struct {
		mean, weight float64
		n            int
	}
	var blocks []block
	for i := range y {
		blocks = append(blocks, block{y[i], w[i], 1})
		for n := len(blocks); n > 1 && blocks[n-2].mean > blocks[n-1].mean; n = len(blocks) {
			a, b := blocks[n-2], blocks[n-1]
			sum := a.weight + b.weight
			blocks = append(blocks[:n-2], block{(a.mean*a.weight + b.mean*b.weight) / sum, sum, a.n + b.n})
		}
	}
	i := 0
	for _, b := range blocks {
		for range b.n {
			y[i] = b.mean
			i++
		}
	}
}

func (c curve) lowest() float64  { return c.x[0] }
func (c curve) highest() float64 { return c.x[len(c.x)-1] }

// at is the output at an input; beyond the readings it is that at their end.
func (c curve) at(x float64) float64 {
	if x <= c.lowest() {
		return c.y[0]
	}
	if x >= c.highest() {
		return c.y[len(c.y)-1]
	}
	i := sort.SearchFloat64s(c.x, x)
	part := (x - c.x[i-1]) / (c.x[i] - c.x[i-1])
	return c.y[i-1] + part*(c.y[i]-c.y[i-1])
}

// baseline is the piece over which the slope at x is taken: 5 dB, or the widest
// gap between readings that it would touch.
func (c curve) baseline(x float64) float64 {
	b := float64(baselineDB)
	for i := 1; i < len(c.x); i++ {
		if c.x[i] > x-baselineDB/2. && c.x[i-1] < x+baselineDB/2. {
			b = math.Max(b, c.x[i]-c.x[i-1])
		}
	}
	return b
}

// slope is the local slope at x in dB/dB, NaN where its baseline would reach
// beyond the readings.
func (c curve) slope(x float64) float64 {
	b := c.baseline(x)
	if x-b/2 < c.lowest()-1e-9 || x+b/2 > c.highest()+1e-9 {
		return math.NaN()
	}
	return (c.at(x+b/2) - c.at(x-b/2)) / b
}

// below is the highest input at which the output is no more than y; ok is false
// where it is above y everywhere.
func (c curve) below(y float64) (float64, bool) {
	if c.y[0] > y {
		return 0, false
	}
	for i := len(c.x) - 1; i > 0; i-- {
		if c.y[i-1] <= y && c.y[i] > y {
			return c.x[i-1] + (y-c.y[i-1])/(c.y[i]-c.y[i-1])*(c.x[i]-c.x[i-1]), true
		}
	}
	return c.highest(), true
}

// kneeSlope is the local slope that parts the two sides of the knee.
const kneeSlope = 0.5

// knee is where the local slope falls below 0.5 dB/dB, going up from where the
// curve is steepest: below that, noise may flatten it.
type knee struct {
	at           float64
	baseline     float64
	under, above bool // it lies below the lowest slope seen, above the highest
}

func (c curve) knee() (knee, bool) {
	const step = 0.1
	best, from := math.Inf(-1), 0.0
	first, last := math.NaN(), math.NaN()
	for x := c.lowest(); x <= c.highest(); x += step {
		s := c.slope(x)
		if math.IsNaN(s) {
			continue
		}
		if math.IsNaN(first) {
			first = x
		}
		last = x
		if s > best+1e-9 {
			best, from = s, x
		}
	}
	if math.IsNaN(first) {
		return knee{}, false
	}
	if best < kneeSlope {
		return knee{at: first, under: true}, true
	}
	before := math.NaN()
	for x := from; x <= last+step/2; x += step {
		s := c.slope(x)
		if s < kneeSlope {
			return knee{at: crossing(x-step, before, x, s), baseline: c.baseline(x)}, true
		}
		before = s
	}
	return knee{at: last, above: true}, true
}

// crossing is where a slope passes 0.5 between two places.
func crossing(x0, s0, x1, s1 float64) float64 {
	if math.IsNaN(s0) || s0 == s1 {
		return x1
	}
	return x0 + (s0-kneeSlope)/(s0-s1)*(x1-x0)
}
