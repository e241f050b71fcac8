package agc

import "math"

// Between two levels the curve is taken as straight, but a curve that bends one
// way lies above its chord and below the neighbouring chords drawn on. What lies
// between is not known: the true height is taken as anything up to there, which
// about the chord has a standard uncertainty of that width over √3.

// above is the highest that the curve can be at x.
func (c curve) above(x float64) float64 {
	n := len(c.x)
	i := 1
	for i < n-1 && c.x[i] < x {
		i++
	}
	if x <= c.x[0] || x >= c.x[n-1] || x == c.x[i] {
		return c.at(x)
	}
	slope := func(i int) float64 { return (c.y[i] - c.y[i-1]) / (c.x[i] - c.x[i-1]) }
	left, right := math.Max(1, slope(i)), 0.0 // beyond the readings: no gain control below, a level output above
	if i > 1 {
		left = slope(i - 1)
	}
	if i < n-1 {
		right = slope(i + 1)
	}
	upper := math.Min(c.y[i-1]+left*(x-c.x[i-1]), c.y[i]-right*(c.x[i]-x))
	return math.Max(upper, c.at(x))
}

// heightU is the standard uncertainty of the curve's height at x from its
// course between levels.
func (c curve) heightU(x float64) float64 { return (c.above(x) - c.at(x)) / math.Sqrt(3) }

// crossingU is that of the input at which the output is y, where the chord has
// it at x.
func (c curve) crossingU(x, y float64) float64 {
	const step = 0.02
	at := x
	for at-step > c.lowest() && c.above(at-step) > y && x-at < 2*c.baseline(x) {
		at -= step
	}
	return (x - at) / math.Sqrt(3)
}
