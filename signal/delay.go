package signal

import (
	"context"
	"fmt"
	"io"
	"math"
	"sort"

	"gonum.org/v1/gonum/dsp/fourier"
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
// once over everything with spectra made white, then in windows of a second
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
	c := newCorrelator(rate, o, len(x)+len(y))
	lag, peak := c.best(x, y, 0, int(o.MaxS*rate))
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
func coarse(ctx context.Context, src Source, lengthS float64) ([]float64, float64, error) {
	m := max(1, int(src.Rate()/delayRate))
	rate := src.Rate() / float64(m)
	var out []float64
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
				out = append(out, sum/float64(m))
				sum, n = 0, 0
			}
		}
	}
	return out, rate, nil
}

// correlator correlates stretches up to a length.
type correlator struct {
	rate   float64
	o      DelayOptions
	n      int
	fft    *fourier.CmplxFFT
	cx, cy []complex128
}

func newCorrelator(rate float64, o DelayOptions, length int) *correlator {
	n := 1
	for n < length {
		n *= 2
	}
	return &correlator{rate: rate, o: o, n: n, fft: fourier.NewCmplxFFT(n), cx: make([]complex128, n), cy: make([]complex128, n)}
}

// correlate leaves in cx the correlation of y with x, lag l at index l mod n;
// only the band takes part, and white says that all its bins weigh the same.
func (c *correlator) correlate(x, y []float64, white bool) {
	clear(c.cx)
	clear(c.cy)
	for i, v := range x {
		c.cx[i] = complex(v, 0)
	}
	for i, v := range y {
		c.cy[i] = complex(v, 0)
	}
	c.fft.Coefficients(c.cx, c.cx)
	c.fft.Coefficients(c.cy, c.cy)
	for k := range c.cx {
		hz := float64(k) * c.rate / float64(c.n)
		if k > c.n/2 {
			hz = float64(c.n-k) * c.rate / float64(c.n)
		}
		if hz < c.o.FromHz || hz > math.Min(c.o.ToHz, 0.4*c.rate) {
			c.cx[k] = 0
			continue
		}
		g := complex(real(c.cx[k]), -imag(c.cx[k])) * c.cy[k]
		if size := math.Hypot(real(g), imag(g)); white && size > 0 {
			g /= complex(size, 0)
		}
		c.cx[k] = g
	}
	c.fft.Sequence(c.cx, c.cx)
}

// best is the lag of the highest correlation within reach of a lag, and how
// much higher it is than what lies elsewhere (5 ms away and more).
func (c *correlator) best(x, y []float64, around, reach int) (lag int, peak float64) {
	c.correlate(x, y, true)
	at := func(l int) float64 { return real(c.cx[((l%c.n)+c.n)%c.n]) }
	reach = min(reach, c.n/2-1)
	top := math.Inf(-1)
	for l := around - reach; l <= around+reach; l++ {
		if v := at(l); v > top {
			top, lag = v, l
		}
	}
	away := int(0.005 * c.rate)
	next := 0.0
	for l := around - reach; l <= around+reach; l++ {
		if l < lag-away || l > lag+away {
			next = math.Max(next, at(l))
		}
	}
	if next <= 0 {
		return lag, math.Inf(1)
	}
	return lag, top / next
}

// refineDelay finds the delay in windows and how it grows.
func refineDelay(ctx context.Context, x, y []float64, rate float64, lag int, peak float64, o DelayOptions) (Delay, error) {
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
	at := func(l int) float64 { return real(c.cx[((l%c.n)+c.n)%c.n]) }
	best := -reach
	for l := -reach; l <= reach; l++ {
		if at(l) > at(best) {
			best = l
		}
	}
	if best == -reach || best == reach || at(best) <= 0 {
		return 0, false
	}
	a, b, d := at(best-1), at(best), at(best+1)
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
