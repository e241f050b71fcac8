package passband

import "math"

// Estimate is a number that a curve gives, with what is not known about it.
type Estimate struct {
	Value, U float64
	Lo, Hi   float64 // 95 % interval
	// Reached is the share of the responses that the points allow in which the
	// number exists. Below [Sure] only a bound can be given: Least.
	Reached float64
	Least   float64 // the number is larger with 97.5 %
}

// Sure is the share of drawn responses that must reach a level.
const Sure = 0.975

// Given says that the number is known as a value.
func (e Estimate) Given() bool { return e.Reached >= Sure && finite(e.Value) && finite(e.U) }

// Result is everything the curve says about the passband.
type Result struct {
	Shape   // of the fitted curve
	curve   *Curve
	mean    []float64 // the fitted curve as it was measured
	shapes  []Shape   // of the draws
	Valleys []Valley
	Ripple  Valley // deepest valley within the edges 6 dB down; Depth 0 for one hump
	Hidden  float64
	Notches []Valley // beyond the edges, or too deep for a ripple
}

// notchDepth is how deep a valley must be to be a notch, wherever it lies, and
// notchRise how far the response must come back beyond a notch on a skirt, dB.
const notchDepth, notchRise = 10, 3

// Measure finds the passband's figures.
func (c *Curve) Measure() Result {
	r := Result{curve: c, Valleys: c.Valleys()}
	mean := append([]float64(nil), c.DB...)
	six := edges(c.Hz, mean, maximum(mean)-6)
	var within []Valley
	for _, v := range r.Valleys {
		inside := v.Hz > six.Lo && v.Hz < six.Hi
		switch {
		case v.Depth >= notchDepth, !inside && v.Depth >= notchRise:
			r.Notches = append(r.Notches, v)
		case inside:
			within = append(within, v)
		}
	}
	r.Ripple, _ = Ripple(within, math.Inf(-1), math.Inf(1))
	r.Hidden = c.HiddenRipple(six.Lo, six.Hi)
	left, right := c.flankLimits(within, r.Notches, six)
	c.flanks(mean, left, right)
	r.mean = mean
	r.Shape = ShapeOf(c.Hz, mean)
	for _, d := range c.Draws {
		y := append([]float64(nil), d...)
		c.flanks(y, left, right)
		r.shapes = append(r.shapes, ShapeOf(c.Hz, y))
	}
	return r
}

// flankLimits says where the flanks begin: at the only hump, or at the humps
// outside the outermost valleys. A side with a notch is left as it is.
func (c *Curve) flankLimits(within, notches []Valley, six Edge) (left, right limits) {
	lo, hi := 0, len(c.Hz)-1
	for i, x := range c.Hz {
		if x < six.Lo {
			lo = i
		}
		if x <= six.Hi {
			hi = i
		}
	}
	left, right = limits{lo, hi, true}, limits{lo, hi, true}
	for _, v := range within {
		left.to = min(left.to, v.at)
		right.from = max(right.from, v.at)
	}
	top := peakIn(c.DB, limits{from: 0, to: len(c.DB) - 1})
	for _, v := range notches {
		if v.at < top {
			left.apply = false
		} else {
			right.apply = false
		}
	}
	return left, right
}

// Estimate measures one number of the shape with its uncertainty over the
// draws. The number may be NaN where a draw does not have it; least, where not
// nil, gives what the number is at least then.
func (r Result) Estimate(of func(Shape) float64, least func(Shape) float64) Estimate {
	e := Estimate{Value: of(r.Shape)}
	var all, floor []float64
	for _, s := range r.shapes {
		if x := of(s); finite(x) {
			all = append(all, x)
		}
		if least != nil {
			floor = append(floor, least(s))
		}
	}
	e.Reached = float64(len(all)) / float64(max(len(r.shapes), 1))
	if len(floor) > 0 {
		e.Least = quantile(floor, 0.025)
	}
	if len(all) < 10 {
		e.U = math.NaN()
		return e
	}
	mean, sd := meanAndSD(all)
	if !finite(e.Value) {
		e.Value = mean
	}
	// The maximum of a curve that follows some of the errors lies too high, and
	// that of a draw about it lies too high once more: what the draws are off by
	// is taken off (Efron and Tibshirani 1993, chapter 10, from memory), and
	// the interval is turned over.
	lo, hi := quantile(all, 0.025), quantile(all, 0.975)
	shift := math.Max(-sd, math.Min(sd, mean-e.Value))
	e.Lo, e.Hi = 2*e.Value-hi, 2*e.Value-lo
	e.Value -= shift
	e.U = sd
	return e
}

// Bandwidth is the width so far down.
func (r Result) Bandwidth(down float64) Estimate {
	return r.Estimate(func(s Shape) float64 {
		if e := s.Edge(down); e.Reached() {
			return e.Width()
		}
		return math.NaN()
	}, func(s Shape) float64 { return s.Edge(down).Width() })
}

// Depth is how far below the maximum the points reach on the side that reaches
// less far.
func (r Result) Depth() float64 {
	n := len(r.curve.DB)
	return r.Top - math.Max(r.curve.DB[0], r.curve.DB[n-1])
}

// Scaled is the shape if all decibels were larger by a factor: what an error of
// a level scale or of a detector's law does.
func (r Result) Scaled(factor float64) Shape {
	y := make([]float64, len(r.mean))
	for i, v := range r.mean {
		y[i] = v * factor
	}
	return ShapeOf(r.curve.Hz, y)
}

// Fitted returns the fitted curve and its standard uncertainty, relative to the
// maximum.
func (r Result) Fitted() (hz, db, u []float64) {
	db = make([]float64, len(r.mean))
	for i, v := range r.mean {
		db[i] = v - r.Top
	}
	return r.curve.Hz, db, r.curve.UdB
}
