package signal

import "math"

// noiseAverage is the density of what is left when the lines are taken off,
// averaged over blocks. Bins next to a line are left out, block by block, since
// a drifting line wanders; a bin never counted takes the mean of its
// neighbours.
type noiseAverage struct {
	sum   []float64
	count []int
	skip  []bool
	total moments // power in the band, block by block
	lo,
	hi int // bins of the band
	df float64
}

// moments are number, mean and spread of a series.
type moments struct {
	n            int
	mean, spread float64
}

func (m *moments) add(x float64) {
	m.n++
	d := x - m.mean
	m.mean += d / float64(m.n)
	m.spread += d * (x - m.mean)
}

func (m moments) variance() float64 {
	if m.n < 2 {
		return 0
	}
	return m.spread / float64(m.n-1)
}

func newNoiseAverage(bins int, df, fromHz, toHz float64) *noiseAverage {
	a := &noiseAverage{sum: make([]float64, bins), count: make([]int, bins), skip: make([]bool, bins), df: df}
	a.lo = max(1, int(math.Ceil(fromHz/df-0.5)))
	a.hi = min(bins-1, int(math.Floor(toHz/df+0.5)))
	return a
}

// lineGuard is how many bins on each side of a line are not counted as noise;
// toneGuard the same for the tone, of which a parabola was fitted.
const (
	lineGuard = 2
	toneGuard = 4
)

// add takes the spectrum of a block whose lines are taken off.
func (a *noiseAverage) add(s *lineSpectrum, tone float64, lines []float64) {
	clear(a.skip)
	a.guard(tone, toneGuard)
	for _, f := range lines {
		a.guard(f, lineGuard)
	}
	band, bins := 0.0, 0
	for k := range a.sum {
		if a.skip[k] {
			continue
		}
		d := s.density(k)
		a.sum[k] += d
		a.count[k]++
		if k >= a.lo && k <= a.hi {
			band += d
			bins++
		}
	}
	if bins > 0 {
		a.total.add(band * float64(a.hi-a.lo+1) / float64(bins))
	}
}

func (a *noiseAverage) guard(hz float64, bins int) {
	if hz <= 0 {
		return
	}
	at := int(math.Round(hz / a.df))
	for k := max(0, at-bins); k <= min(len(a.skip)-1, at+bins); k++ {
		a.skip[k] = true
	}
}

// density is the mean in each bin, gaps filled.
func (a *noiseAverage) density() []float64 {
	out := make([]float64, len(a.sum))
	for k, c := range a.count {
		if c > 0 {
			out[k] = a.sum[k] / float64(c)
		}
	}
	for k := 0; k < len(out); k++ {
		if a.count[k] > 0 {
			continue
		}
		to := k
		for to < len(out) && a.count[to] == 0 {
			to++
		}
		fill := a.beside(out, k, to)
		for ; k < to; k++ {
			out[k] = fill
		}
	}
	return out
}

// beside is the mean of six counted bins on each side of from up to to, of
// densities already averaged.
func (a *noiseAverage) beside(d []float64, from, to int) float64 {
	return a.around(from, to, 6, func(k int) float64 { return d[k] })
}

// at is the mean density about a frequency, over the 24 nearest bins that were
// counted, its own not among them.
func (a *noiseAverage) at(hz float64) float64 {
	k := max(1, min(len(a.sum)-1, int(math.Round(hz/a.df))))
	return a.around(k, k+1, 12, func(i int) float64 { return a.sum[i] / float64(a.count[i]) })
}

func (a *noiseAverage) around(from, to, each int, value func(k int) float64) float64 {
	sum, n := 0.0, 0
	for k, left := from-1, each; k >= 1 && left > 0; k-- {
		if a.count[k] > 0 {
			sum, n, left = sum+value(k), n+1, left-1
		}
	}
	for k, left := to, each; k < len(a.sum) && left > 0; k++ {
		if a.count[k] > 0 {
			sum, n, left = sum+value(k), n+1, left-1
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// power is the noise power in the band and its uncertainty, t the time in
// seconds that the blocks count for. For Gaussian noise of density S the
// variance is ∫S²df/t; the square of an estimated density, mean of k
// exponentials, is 1 + 1/k too large. Noise that swells and fades between
// blocks scatters more than that, and then the scatter counts.
func (a *noiseAverage) power(t, k float64) (p, u float64) {
	square := 0.0
	for i, d := range a.density() {
		if i >= a.lo && i <= a.hi {
			p += d * a.df
			square += d * d * a.df
		}
	}
	v := square / (1 + 1/math.Max(1, k)) / t
	if n := float64(a.total.n); n >= 8 {
		// Blocks half overlapped under a raised cosine are nearly independent
		// (the powers of neighbours correlate by 1/36).
		if e := a.total.variance() * a.df * a.df / n; e > 2*v {
			v = e
		}
	}
	return p, math.Sqrt(v)
}
