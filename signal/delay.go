package signal

import (
	"context"
	"fmt"
	"io"
	"math"
	"sort"
)

// Delay is how much later one recording has what another has, and how that
// grows where their clocks differ.
type Delay struct {
	Seconds float64 // at the start of the later recording's time scale
	U       float64
	Skew    float64 // growth, seconds a second
	SkewU   float64
	Windows int     // windows in which it was found
	Peak    float64 // height of the first peak of the correlation over the next one elsewhere
}

// At is the delay at a time of the output.
func (d Delay) At(s float64) float64 { return d.Seconds + d.Skew*s }

// DelayOptions says where to look; the zero value is sensible.
type DelayOptions struct {
	FromHz, ToHz float64 // 0: 200 Hz and 3 kHz
	MaxS         float64 // how much later or earlier, 0: 10 s
	LengthS      float64 // how much of both is used, 0: 120 s
}

// delayRate is about the rate at which delays are looked for.
const delayRate = 12000

// FindDelay aligns two recordings of one programme by generalised
// cross-correlation (Knapp and Carter 1976, abstract read, weights from memory):
// once over everything in blocks with spectra made white, then in windows of a second
// round what was found, and a robust line through these. Errors say where the
// recordings have nothing in common.
func FindDelay(ctx context.Context, input, output Source, o DelayOptions) (Delay, error) {
	if input.Channels() != 1 || output.Channels() != 1 || input.Rate() != output.Rate() {
		return Delay{}, fmt.Errorf("signal: input of %d channels at %g and output of %d at %g samples a second, expected one channel and one rate",
			input.Channels(), input.Rate(), output.Channels(), output.Rate())
	}
	o = o.defaults()
	x, rate, err := coarse(ctx, input, o.LengthS)
	if err != nil {
		return Delay{}, err
	}
	y, _, err := coarse(ctx, output, o.LengthS)
	if err != nil {
		return Delay{}, err
	}
	if float64(min(len(x), len(y))) < 2*rate {
		return Delay{}, fmt.Errorf("signal: recordings of %.1f s and %.1f s, expected 2 s at least of both", float64(len(x))/rate, float64(len(y))/rate)
	}
	lag, peak, err := coarseLag(ctx, x, y, rate, o)
	if err != nil {
		return Delay{}, err
	}
	if peak < 1.5 {
		return Delay{}, fmt.Errorf("signal: no place where the two recordings agree stands out (by a factor of %.1f, expected 1.5 at least): is it the same programme, within %g s?", peak, o.MaxS)
	}
	return refineDelay(ctx, x, y, rate, lag, peak, o)
}

func (o DelayOptions) defaults() DelayOptions {
	if o.FromHz == 0 && o.ToHz == 0 {
		o.FromHz, o.ToHz = 200, 3000
	}
	if o.MaxS == 0 {
		o.MaxS = 10
	}
	if o.LengthS == 0 {
		o.LengthS = 120
	}
	return o
}

// coarse reads the first seconds at a lower rate, neighbours averaged.
func coarse(ctx context.Context, src Source, lengthS float64) ([]float32, float64, error) {
	m := max(1, int(src.Rate()/delayRate))
	rate := src.Rate() / float64(m)
	var out []float32
	buf := make([]float64, 4096)
	sum, n := 0.0, 0
	for float64(len(out)) < lengthS*rate {
		if ctx.Err() != nil {
			return nil, 0, ctx.Err()
		}
		k, err := src.Read(buf)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, 0, err
		}
		for _, v := range buf[:k] {
			sum += v
			if n++; n == m {
				out = append(out, float32(sum/float64(m)))
				sum, n = 0, 0
			}
		}
	}
	return out, rate, nil
}

// correlator correlates stretches that together are no longer than its length.
type correlator struct {
	rate float64
	o    DelayOptions
	n    int
	fft  *complexFFT
	out  []complex128 // the correlation, lag l at index l mod n
}

func newCorrelator(rate float64, o DelayOptions, length int) *correlator {
	n := max(16, length)
	for !smoothEven(int64(n)) {
		n++
	}
	return &correlator{rate: rate, o: o, n: n, fft: newComplexFFT(n)}
}

// correlate makes the correlation of y with x; only the band takes part, and
// white says that all its bins weigh the same. Both are transformed as one
// series of complex numbers, and back by the conjugate.
func (c *correlator) correlate(x, y []float32, white bool) {
	z := c.fft.a
	for i := range z {
		var re, im float64
		if i < len(x) {
			re = float64(x[i])
		}
		if i < len(y) {
			im = float64(y[i])
		}
		z[i] = complex(re, im)
	}
	z = c.fft.again()
	top := math.Min(c.o.ToHz, 0.4*c.rate)
	for k := 0; k <= c.n/2; k++ {
		other := (c.n - k) % c.n
		a, b := z[k], complex(real(z[other]), -imag(z[other]))
		z[k], z[other] = 0, 0
		if hz := float64(k) * c.rate / float64(c.n); hz < c.o.FromHz || hz > top {
			continue
		}
		// X is (a + b)/2, Y is (a − b)/2i; wanted is the conjugate of conj(X)·Y.
		sum, diff := a+b, a-b
		diff = complex(imag(diff), real(diff)) // conj(−i·diff)
		g := sum * diff / 4
		if size := math.Hypot(real(g), imag(g)); white && size > 0 {
			g /= complex(size, 0)
		}
		z[k], z[other] = g, complex(real(g), -imag(g))
	}
	copy(c.fft.a, z)
	c.out = c.fft.again()
}

func (c *correlator) at(lag int) float64 { return real(c.out[((lag%c.n)+c.n)%c.n]) }

// delayBlockS is how much of the output is correlated at a time, seconds. Clocks
// that differ by 100 parts in a million move by a millisecond in it.
const delayBlockS = 10

// coarseLag is the lag of y behind x within reach at which the correlations of
// the blocks of y, all bins of the same weight, add up to most, and how much more
// that is than elsewhere (5 ms away and more).
func coarseLag(ctx context.Context, x, y []float32, rate float64, o DelayOptions) (lag int, peak float64, err error) {
	reach := min(int(o.MaxS*rate), max(len(x), len(y)))
	size := min(len(y), int(delayBlockS*rate))
	c := newCorrelator(rate, o, size+2*reach)
	sum := make([]float64, 2*reach+1)
	around := make([]float32, size+2*reach)
	for at := 0; at+size <= len(y); at += size {
		if ctx.Err() != nil {
			return 0, 0, ctx.Err()
		}
		// around begins reach before the block: silence where x has not begun.
		clear(around)
		if from := at - reach; from >= 0 {
			copy(around, x[min(from, len(x)):])
		} else {
			copy(around[-from:], x)
		}
		c.correlate(around, y[at:at+size], true)
		for i := range sum {
			sum[i] += c.at(i - 2*reach)
		}
	}
	best := 0
	for i, v := range sum {
		if v > sum[best] {
			best = i
		}
	}
	away, next := int(0.005*rate), 0.0
	for i, v := range sum {
		if i < best-away || i > best+away {
			next = math.Max(next, v)
		}
	}
	if next <= 0 {
		return best - reach, math.Inf(1), nil
	}
	return best - reach, sum[best] / next, nil
}

// refineDelay finds the delay in windows and how it grows.
func refineDelay(ctx context.Context, x, y []float32, rate float64, lag int, peak float64, o DelayOptions) (Delay, error) {
	n := int(rate) // one second
	c := newCorrelator(rate, o, 2*n)
	var t, d []float64
	for at := 0; at+n <= len(y); at += n {
		from := at - lag
		if from < 0 || from+n > len(x) {
			continue
		}
		if ctx.Err() != nil {
			return Delay{}, ctx.Err()
		}
		c.correlate(x[from:from+n], y[at:at+n], false)
		if l, ok := c.peakNear(int(0.01 * rate)); ok {
			t, d = append(t, (float64(at)+float64(n)/2)/rate), append(d, (float64(lag)+l)/rate)
		}
	}
	if len(t) == 0 {
		return Delay{}, fmt.Errorf("signal: the recordings agree in no whole second")
	}
	out := delayLine(t, d)
	out.Peak = peak
	return out, nil
}

// peakNear is the lag, in fractions, of the highest correlation within reach of
// 0; ok is false where it stands at the edge or is negative.
func (c *correlator) peakNear(reach int) (lag float64, ok bool) {
	best := -reach
	for l := -reach; l <= reach; l++ {
		if c.at(l) > c.at(best) {
			best = l
		}
	}
	if best == -reach || best == reach || c.at(best) <= 0 {
		return 0, false
	}
	a, b, d := c.at(best-1), c.at(best), c.at(best+1)
	return float64(best) + 0.5*(a-d)/(a-2*b+d), true
}

// delayLine is a line through delays: slope by the median of all pairs (Theil
// and Sen), height by the median, uncertainty by the median of what is left.
func delayLine(t, d []float64) Delay {
	var slopes []float64
	for i := range t {
		for j := range i {
			slopes = append(slopes, (d[i]-d[j])/(t[i]-t[j]))
		}
	}
	out := Delay{Windows: len(t)}
	const least = 5 // windows for a slope
	if len(t) >= least {
		out.Skew = middleOf(slopes)
	}
	sigma := out.height(t, d)
	if len(t) < least {
		return out
	}
	out.SkewU = sigma * math.Sqrt(12/float64(len(t))) / (t[len(t)-1] - t[0])
	if math.Abs(out.Skew) < 3*out.SkewU { // one clock
		out.Skew = 0
		out.height(t, d)
	}
	return out
}

// height sets the delay at the start for the slope as it is, and returns the
// scatter about the line.
func (o *Delay) height(t, d []float64) (sigma float64) {
	rest := make([]float64, len(t))
	for i := range t {
		rest[i] = d[i] - o.Skew*t[i]
	}
	o.Seconds = middleOf(rest)
	for i := range rest {
		rest[i] = math.Abs(rest[i] - o.Seconds)
	}
	sigma = 1.4826 * middleOf(rest)
	o.U = 2 * 1.25 * sigma / math.Sqrt(float64(len(t))) // height at the start of a fitted line
	return sigma
}

func middleOf(x []float64) float64 {
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}
