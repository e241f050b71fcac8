package passband

import "math"

// Where the scatter of the points is known and there are many of them, as from
// a spectrum of noise, the roughness of the curve is let differ from place to
// place: large at the edges of a sharp filter, small on its top, which would
// else follow the noise. It is estimated from the bends of the curve fitted
// before, a few times over.

// adaptivePasses is how often, and roughReach over how many points to either
// side a bend is averaged. leastRough keeps some roughness everywhere, as a
// share of the mean.
const (
	adaptivePasses = 5
	roughReach     = 4
	leastRough     = 1e-6
)

// roughness returns the local roughness on the way to each point, over the
// mean: the slope's change squared over the length of the way.
func (c *Curve) roughness(nodes []node) []float64 {
	n := len(nodes)
	bend, way := make([]float64, n), make([]float64, n)
	slope := func(hz float64) float64 { // on the warped scale
		x := (hz - c.MiddleHz) / c.HalfHz
		return c.SlopeAt(hz) * c.HalfHz * math.Sqrt(1+x*x)
	}
	u := c.warp(c.Points[0].Hz)
	last := slope(c.Points[0].Hz)
	for i := 1; i < n; i++ {
		u += nodes[i].du
		now := slope(c.unwarp(u))
		bend[i], way[i] = (now-last)*(now-last), nodes[i].du
		last = now
	}
	out := make([]float64, n)
	mean, total := 0.0, 0.0
	for i := 1; i < n; i++ {
		var b, w float64
		for j := max(1, i-roughReach); j < min(n, i+roughReach+1); j++ {
			b, w = b+bend[j], w+way[j]
		}
		out[i] = b / w
		mean, total = mean+out[i]*way[i], total+way[i]
	}
	mean /= total
	for i := 1; i < n; i++ {
		out[i] = out[i]/mean + leastRough
	}
	return out
}
