package signal

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

// channel is one step of a record round a frequency that may slide: about 100
// complex samples a second, from which the slide expected is taken out.
type channel struct {
	f0, c0   float64   // Hz in the middle and Hz/s, taken out
	t        []float64 // seconds from the middle
	re, im   []float64
	from, to int // samples whose filter lay wholly within the stretch
	dt       float64
	gain     float64 // of a tone at f0
	centre   float64 // turns of the mixer's centre up to the middle, whole turns off
}

// tuner makes channels. Its buffers are used again by the next one.
type tuner struct {
	m              *mixer
	taps           []float64
	mixRe, mixIm   []float64
	ch             channel
	fft            *fourier.CmplxFFT
	pad, coeff     []complex128
	powers         []float64
	gram           map[int]noiseBasis
	resRe, resIm   []float64
	p, q, weight   []float64
	smoothed       []float64
	lineRe, lineIm []float64
}

func newTuner(m *mixer) *tuner {
	return &tuner{m: m, taps: channelTaps(m.outRate), gram: map[int]noiseBasis{}}
}

// channel makes the channel of stepS seconds round frame middle of the stretch.
func (u *tuner) channel(middle, stepS, f0, c0 float64) *channel {
	u.m.near(f0)
	mid := u.m.outputAt(middle)
	n := max(8, int(math.Round(stepS*u.m.outRate/channelEvery)))
	first := int64(math.Round(mid - channelEvery*float64(n-1)/2))
	c := &u.ch
	c.f0, c.c0, c.dt, c.gain = f0, c0, channelEvery/u.m.outRate, u.m.gain(f0)
	c.centre = math.Remainder(float64(u.m.tuned)*mid/tuneSteps, 1)
	c.t, c.re, c.im = resized(c.t, n), resized(c.re, n), resized(c.im, n)
	u.slide(mid, first-channelHalf, n*channelEvery+2*channelHalf, f0-u.m.centre(), c0)
	c.from, c.to = n, 0
	end := u.m.base + int64(len(u.m.re))
	for i := range n {
		at := first + int64(i)*channelEvery
		c.t[i] = (float64(at) - mid) / u.m.outRate
		c.re[i], c.im[i] = 0, 0
		if at-channelHalf < max(u.m.base, 0) || at+channelHalf >= end {
			continue
		}
		c.from, c.to = min(c.from, i), i+1
		k := i * channelEvery
		c.re[i] = floats.Dot(u.taps, u.mixRe[k:k+len(u.taps)])
		c.im[i] = floats.Dot(u.taps, u.mixIm[k:k+len(u.taps)])
	}
	return c
}

// slide mixes n outputs of the mixer from number first with a frequency and a
// slide round the middle. The phase is a second-order recurrence.
func (u *tuner) slide(mid float64, first int64, n int, hz, perS float64) {
	u.mixRe, u.mixIm = resized(u.mixRe, n), resized(u.mixIm, n)
	r := u.m.outRate
	t0 := (float64(first) - mid) / r
	w := turn(-(hz*t0 + perS*t0*t0/2))
	d := turn(-(hz/r + perS*(t0/r+1/(2*r*r))))
	dd := turn(-perS / (r * r))
	have := int64(len(u.m.re))
	for i := range n {
		k := first + int64(i) - u.m.base
		if k >= 0 && k < have {
			a, b := u.m.re[k], u.m.im[k]
			u.mixRe[i] = a*real(w) - b*imag(w)
			u.mixIm[i] = a*imag(w) + b*real(w)
		} else {
			u.mixRe[i], u.mixIm[i] = 0, 0
		}
		w *= d
		d *= dd
	}
}

// turn is the unit vector after so many turns.
func turn(turns float64) complex128 {
	s, c := math.Sincos(2 * math.Pi * math.Remainder(turns, 1))
	return complex(c, s)
}

func resized(x []float64, n int) []float64 {
	if cap(x) < n {
		return make([]float64, n)
	}
	return x[:n]
}

// peak is a maximum of a channel's spectrum.
type peak struct {
	hz    float64 // from the channel's middle
	power float64 // of the transform, |Σ|²
}

// spectrum returns the power of the zero-padded transform of a channel's valid
// samples, with its bin width; bin k lies at k, or k−n in the upper half.
func (u *tuner) spectrum(re, im []float64, c *channel) (powers []float64, df float64) {
	n := 2
	for n < 2*len(re) {
		n *= 2
	}
	if u.fft == nil || u.fft.Len() != n {
		u.fft = fourier.NewCmplxFFT(n)
		u.pad, u.coeff, u.powers = make([]complex128, n), make([]complex128, n), make([]float64, n)
	}
	clear(u.pad)
	for i := c.from; i < c.to; i++ {
		u.pad[i] = complex(re[i], im[i])
	}
	u.fft.Coefficients(u.coeff, u.pad)
	for i, v := range u.coeff {
		u.powers[i] = real(v)*real(v) + imag(v)*imag(v)
	}
	return u.powers, 1 / (float64(n) * c.dt)
}

// peaks returns the maxima of a spectrum within reach hertz of its middle that
// are at least share of the highest, and the median power there.
func peaks(powers []float64, df, reach, share float64) (out []peak, median float64) {
	n := len(powers)
	at := func(k int) float64 { return powers[((k%n)+n)%n] }
	span := int(reach / df)
	var all []float64
	top := 0.0
	for k := -span; k <= span; k++ {
		all = append(all, at(k))
		top = math.Max(top, at(k))
	}
	for k := -span; k <= span; k++ {
		b := at(k)
		if b < share*top || b < at(k-1) || b <= at(k+1) {
			continue
		}
		out = append(out, peak{(float64(k) + vertex(at(k-1), b, at(k+1))) * df, b})
	}
	return out, medianOf(all)
}

// vertex is where the parabola through three equidistant values has its top,
// in steps from the middle one.
func vertex(a, b, c float64) float64 {
	if d := a - 2*b + c; d < 0 {
		return max(-0.5, min(0.5, (a-c)/2/d))
	}
	return 0
}
