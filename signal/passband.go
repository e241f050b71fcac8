package signal

import (
	"fmt"
	"math"
)

// BandwidthOptions says where in a spectrum of noise the passband is looked for.
type BandwidthOptions struct {
	FromHz, ToHz float64   // 0, 0: the whole spectrum
	DownDB       []float64 // levels of the edges below the maximum; none: 6 and 60
}

// Passband is the shape of a filter by the noise that comes through it.
type Passband struct {
	NoiseBandwidthHz, NoiseBandwidthU float64 // power over the greatest density
	PeakDensity, PeakDensityU         float64 // of the smooth fit, full-scale²/Hz
	PeakHz                            float64
	RippleDB                          float64 // greatest depth of a valley below the lower of the peaks on its two sides; 0 for one hump, or where it cannot be told from noise
	Edges                             []BandEdge
	FloorDensity                      float64   // lowest smooth density on the two sides, the higher of both
	FirstBin                          int       // bin of Smooth[0]
	Smooth                            []float64 // fitted density, full-scale²/Hz
	Lines                             []float64 // Hz: narrow lines (hum, whistles) left out
	Notes                             []string
}

// BandEdge are the frequencies where the density has fallen so far below its
// maximum. Where it does not fall so far above the floor of the noise, or not
// inside the band looked at, the edge is a bound: the true one lies at least so
// far out.
type BandEdge struct {
	DownDB              float64
	LowHz, LowU         float64
	HighHz, HighU       float64
	LowBound, HighBound bool
}

// floorRoom is how far above the floor, as a ratio, a density must lie for the
// place where it is reached to say something of the filter: 6 dB.
const floorRoom = 4

// NoiseBandwidth is the noise bandwidth and the shape of a passband from a
// spectrum of noise through it: B = integral of |H|² over |H|² at its maximum.
// The maximum is that of a smooth fit, since the greatest of many noisy bins is
// too great; its remaining excess is estimated from draws and taken off. Make the
// spectrum with the mean kept where the passband begins at zero.
func NoiseBandwidth(s *Spectrum, o BandwidthOptions) (Passband, error) {
	c, err := newShapeFit(s, o)
	if err != nil {
		return Passband{}, err
	}
	top, err := c.top()
	if err != nil {
		return Passband{}, err
	}
	out := Passband{PeakDensity: top.peak, PeakDensityU: top.u * top.peak, PeakHz: c.hz(top.at), RippleDB: c.ripple(top), Smooth: c.smooth, FirstBin: c.first, Lines: c.lines}
	power, u := c.power()
	out.NoiseBandwidthHz = power / top.peak
	out.NoiseBandwidthU = out.NoiseBandwidthHz * math.Hypot(u/power, top.u)
	out.FloorDensity = math.Max(c.floor(top.at, -1), c.floor(top.at, 1))
	for _, down := range edgeLevels(o.DownDB) {
		e, err := c.edge(top, down)
		if err != nil {
			return Passband{}, err
		}
		out.Edges = append(out.Edges, e)
	}
	if len(c.lines) > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("%d narrow lines (hum, whistles) left out", len(c.lines)))
	}
	return out, nil
}

func edgeLevels(asked []float64) []float64 {
	if len(asked) == 0 {
		return []float64{6, 60}
	}
	return asked
}

// power is that of the band without lines.
func (c *shapeFit) power() (power, u float64) {
	return c.s.weightedPower(c.first, c.first+len(c.log)-1, func(k int) float64 {
		return c.clean[k-c.first] / math.Max(c.s.Density[k], math.SmallestNonzeroFloat64)
	})
}

// floor is the lowest smooth density on one side of the maximum.
func (c *shapeFit) floor(from, dir int) float64 {
	low := math.Inf(1)
	for i := from; i >= 0 && i < len(c.smooth); i += dir {
		low = math.Min(low, c.smooth[i])
	}
	return low
}

// edge looks for a level on both sides.
func (c *shapeFit) edge(top topFit, down float64) (e BandEdge, err error) {
	if !(down > 0) {
		return e, fmt.Errorf("signal: an edge %v dB below the maximum, expected a positive number", down)
	}
	e.DownDB = down
	e.LowHz, e.LowU, e.LowBound = c.crossing(top, down, -1)
	e.HighHz, e.HighU, e.HighBound = c.crossing(top, down, 1)
	return e, nil
}

// crossing is where the smooth density first passes the level on the way out
// and stays below it for a while; bound where the data end before.
func (c *shapeFit) crossing(top topFit, down float64, dir int) (hz, u float64, bound bool) {
	level := math.Log(top.peak) - down*math.Ln10/10
	floor := c.floor(top.at, dir)
	if math.Log(floor)+math.Log(floorRoom) > level {
		return c.reach(top, floor, dir), 0, true
	}
	i := top.outermost(c, level, dir)
	if i < 0 || i >= len(c.smooth) {
		return c.hz(max(0, min(i, len(c.smooth)-1))), 0, true
	}
	return c.refine(top, i, dir, level, floor)
}

// outermost is the first place outwards of which the density never again
// exceeds the level: a notch inside a passband is no edge.
func (t topFit) outermost(c *shapeFit, level float64, dir int) int {
	last := t.at
	for i := t.at; i >= 0 && i < len(c.smooth); i += dir {
		if math.Log(c.smooth[i]) > level {
			last = i
		}
	}
	return last + dir
}

// reach is how far out the density lies clearly above its floor; to the end of
// the data where it does not fall at all.
func (c *shapeFit) reach(top topFit, floor float64, dir int) float64 {
	last := top.at
	if floor > top.peak/2 {
		floor = 0
	}
	for i := top.at; i >= 0 && i < len(c.smooth); i += dir {
		if c.smooth[i] > floor*floorRoom {
			last = i
		}
	}
	return c.hz(last)
}

// refine fits a parabola to the logarithm of the density near a crossing.
func (c *shapeFit) refine(top topFit, at, dir int, level, floor float64) (hz, u float64, bound bool) {
	const near = 3 * math.Ln10 / 10 // within 3 dB of the level
	lo, hi := at, at
	for lo > 0 && math.Abs(math.Log(c.smooth[lo-1])-level) < near {
		lo--
	}
	for hi < len(c.log)-1 && math.Abs(math.Log(c.smooth[hi+1])-level) < near {
		hi++
	}
	for hi-lo < 4 {
		lo, hi = max(0, lo-1), min(len(c.log)-1, hi+1)
	}
	fit := fitBend(c.log[lo:hi+1], c.sigma)
	x, slope := fit.solve(level)
	if slope*float64(dir) >= 0 {
		return c.hz(at), float64(hi-lo) * c.df / math.Sqrt(12), false
	}
	value := math.Sqrt(fit.variance(x) + top.u*top.u)
	// The floor lifts the density and moves the crossing out by no more than this.
	lift := floor / math.Exp(level) / math.Sqrt(3)
	u = math.Hypot(value, lift) / math.Abs(slope) * c.df
	// Between bins of a window's width no finer detail is seen.
	u = math.Hypot(u, c.df/math.Sqrt(12))
	return c.hz(lo) + (fit.half+x)*c.df, u, false
}

// bendFit is a least-squares parabola a + b·x + c·x² through equally spaced
// values, x counted from their middle.
type bendFit struct{ a, b, c, half, sigma2, n, s2, s4 float64 }

func fitBend(y []float64, sigma float64) (f bendFit) {
	f.n, f.sigma2 = float64(len(y)), sigma*sigma
	f.half = (f.n - 1) / 2
	var t0, t1, t2 float64
	for i, v := range y {
		x := float64(i) - f.half
		t0, t1, t2 = t0+v, t1+v*x, t2+v*x*x
		f.s2, f.s4 = f.s2+x*x, f.s4+x*x*x*x
	}
	det := f.n*f.s4 - f.s2*f.s2
	f.a, f.b, f.c = (f.s4*t0-f.s2*t2)/det, t1/f.s2, (f.n*t2-f.s2*t0)/det
	return f
}

// variance is that of the fitted value at x.
func (f bendFit) variance(x float64) float64 {
	det := f.n*f.s4 - f.s2*f.s2
	return f.sigma2 * ((f.s4-2*f.s2*x*x+f.n*x*x*x*x)/det + x*x/f.s2)
}

// solve is where the parabola passes a level, near the middle, and its slope
// there.
func (f bendFit) solve(level float64) (x, slope float64) {
	for range 8 {
		slope = f.b + 2*f.c*x
		x -= (f.a + f.b*x + f.c*x*x - level) / slope
		x = math.Max(-f.half-1, math.Min(f.half+1, x))
	}
	return x, slope
}
