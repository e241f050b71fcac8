package signal

import (
	"fmt"
	"math"
)

// shapeFit smooths the logarithm of a noisy density.
type shapeFit struct {
	s      *Spectrum
	first  int // bin of index 0
	df     float64
	clean  []float64 // density, lines replaced by what lies beside them
	log    []float64 // its natural logarithm, without the logarithm's bias
	sigma  float64   // standard deviation of a bin of log, made greater by sqrt of the sum of correlations: of a mean of m bins it is sigma/sqrt(m)
	single float64   // of a single bin
	smooth []float64
	lines  []float64 // Hz
}

const leastBins = 24

func newShapeFit(s *Spectrum, o BandwidthOptions) (*shapeFit, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if o.FromHz < 0 || o.ToHz < 0 || (o.ToHz > 0 && o.ToHz <= o.FromHz) {
		return nil, fmt.Errorf("signal: a passband between %g and %g Hz, expected rising frequencies", o.FromHz, o.ToHz)
	}
	to := o.ToHz
	if to == 0 {
		to = s.RateHz / 2
	}
	first, last := s.span(o.FromHz, to)
	if !s.MeanKept {
		first = max(first, len(s.Window.terms())) // the window spreads the missing mean
	}
	last = min(last, len(s.Density)-2) // the bin at half the rate holds half
	if last-first+1 < leastBins {
		return nil, fmt.Errorf("signal: %d bins between %g and %g Hz, expected %d at least: make longer segments", max(0, last-first+1), o.FromHz, to, leastBins)
	}
	if !(s.Effective >= 4) {
		return nil, fmt.Errorf("signal: a spectrum of %.3g independent segments is too rough for a passband, expected 4 at least: record longer", s.Effective)
	}
	c := &shapeFit{s: s, first: first, df: s.DF(), clean: append([]float64(nil), s.Density[first:last+1]...)}
	if err := c.begin(); err != nil {
		return nil, err
	}
	return c, nil
}

// begin takes lines out, the logarithm, and smooths it.
func (c *shapeFit) begin() error {
	for i, d := range c.clean {
		if !(d > 0) || math.IsInf(d, 0) {
			return fmt.Errorf("signal: the density at %g Hz is %v, expected noise: is the recording silent?", c.hz(i), d)
		}
	}
	e := c.s.Effective
	c.single = 1 / math.Sqrt(e)
	sum := -1.0
	for _, v := range c.s.lagCovariance() {
		sum += 2 * v * e
	}
	c.sigma = c.single * math.Sqrt(sum)
	c.removeLines()
	c.log = make([]float64, len(c.clean))
	for i, d := range c.clean {
		// The mean of the logarithm of an average of e exponential values is
		// digamma(e) - ln(e), close to -1/(2e) - 1/(12e²).
		c.log[i] = math.Log(d) + 1/(2*e) + 1/(12*e*e)
	}
	c.smooth = adaptive(c.log, c.sigma)
	for i, v := range c.smooth {
		c.smooth[i] = math.Exp(v)
	}
	return nil
}

func (c *shapeFit) hz(i int) float64 { return float64(c.first+i) * c.df }

// adaptive smooths by local parabolas, each over the longest stretch whose
// confidence intervals still meet those of all shorter ones: long where the curve
// is plain, short on slopes and in corners (Goldenshluger and Nemirovski 1997;
// the intersection of confidence intervals).
func adaptive(y []float64, sigma float64) []float64 {
	p := newLocalSums(y)
	out := make([]float64, len(y))
	widths := halfWidths(len(y))
	for i := range y {
		low, high := math.Inf(-1), math.Inf(1)
		for _, h := range widths {
			v, sd := p.parabola(i, h, sigma)
			low, high = math.Max(low, v-2*sd), math.Min(high, v+2*sd)
			if low > high {
				break
			}
			out[i] = v
		}
	}
	return out
}

// halfWidths rises by a quarter each.
func halfWidths(n int) []int {
	out := []int{3}
	for h := 4.0; h < float64(n)/2; h *= 1.25 {
		if int(h) > out[len(out)-1] {
			out = append(out, int(h))
		}
	}
	return out
}

// localSums are prefix sums from which a local parabola takes no longer for a
// wide stretch than for a narrow one. Positions count from the middle of the
// data, to keep the sums small.
type localSums struct {
	y          []float64
	m0, m1, m2 []float64
}

func newLocalSums(y []float64) *localSums {
	n := len(y)
	p := &localSums{y: y, m0: make([]float64, n+1), m1: make([]float64, n+1), m2: make([]float64, n+1)}
	mid := y[n/2]
	for i, v := range y {
		x := float64(i - n/2)
		v -= mid
		p.m0[i+1], p.m1[i+1], p.m2[i+1] = p.m0[i]+v, p.m1[i]+v*x, p.m2[i]+v*x*x
	}
	return p
}

// parabola is the value at i of the least-squares parabola over i-h..i+h, cut
// at the ends of the data, and its standard deviation.
func (p *localSums) parabola(i, h int, sigma float64) (value, sd float64) {
	n := len(p.y)
	from, to := max(0, i-h), min(n, i+h+1)
	c := float64(i - n/2)
	s0, s1, s2 := p.m0[to]-p.m0[from], p.m1[to]-p.m1[from], p.m2[to]-p.m2[from]
	// Shift positions to i.
	t0, t1, t2 := s0, s1-c*s0, s2-2*c*s1+c*c*s0
	a, b := float64(from-i), float64(to-1-i)
	n0, n1, n2, n3, n4 := powerSums(a, b)
	// First row of the inverse of the normal matrix.
	r0, r1, r2 := n2*n4-n3*n3, n2*n3-n1*n4, n1*n3-n2*n2
	det := n0*r0 + n1*r1 + n2*r2
	return p.y[n/2] + (r0*t0+r1*t1+r2*t2)/det, sigma * math.Sqrt(r0/det)
}

// powerSums are the sums of x^0 .. x^4 over whole x from a to b.
func powerSums(a, b float64) (n0, n1, n2, n3, n4 float64) {
	f := func(m float64) (s1, s2, s3, s4 float64) { // sums from 0 to m, m >= -1
		s1 = m * (m + 1) / 2
		s2 = m * (m + 1) * (2*m + 1) / 6
		s3 = s1 * s1
		s4 = s2 * (3*m*m + 3*m - 1) / 5
		return s1, s2, s3, s4
	}
	b1, b2, b3, b4 := f(b)
	a1, a2, a3, a4 := f(-a)
	return b - a + 1, b1 - a1, b2 + a2, b3 - a3, b4 + a4
}
