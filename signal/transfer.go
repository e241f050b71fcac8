package signal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/cmplx"
)

// TransferOptions says how two recordings of one programme are set against each
// other.
type TransferOptions struct {
	Segment int   // frames of a segment, 0: 1/6 s, a power of two
	Delay   Delay // of the output behind the input; see [FindDelay]
	Frames  int64 // length of the output if known, for the progress
}

// Transfer is what a system does to a signal, from a recording of its input and
// one of its output, by cross-spectra (estimator H1 = Gxy/Gxx, which noise at
// the output does not bias) and coherence γ² = |Gxy|²/(Gxx·Gyy). Densities are
// one-sided, full-scale² per hertz; bin k lies at k·DF().
// (Bendat and Piersol, Random Data, from memory.)
type Transfer struct {
	RateHz    float64
	Segment   int
	Input     []float64    // Gxx
	Output    []float64    // Gyy
	Cross     []complex128 // Gxy
	Segments  int
	Effective float64 // independent averages
}

// DF is the spacing of the bins in hertz.
func (t *Transfer) DF() float64 { return t.RateHz / float64(t.Segment) }

// H1 is the transfer function at a bin; 0 where there is no input.
func (t *Transfer) H1(k int) complex128 {
	if t.Input[k] == 0 {
		return 0
	}
	return t.Cross[k] / complex(t.Input[k], 0)
}

// Coherence is γ² at a bin, from 0 to 1, with the bias of few averages taken
// off: E(γ²) − γ² = (1 − γ²)²/n.
func (t *Transfer) Coherence(k int) float64 {
	g := real(t.Cross[k])*real(t.Cross[k]) + imag(t.Cross[k])*imag(t.Cross[k])
	if d := t.Input[k] * t.Output[k]; d > 0 {
		g /= d
	} else {
		return 0
	}
	return math.Max(0, math.Min(1, g-(1-g)*(1-g)/t.Effective))
}

// BandGain is the gain of a band: linear, the root of coherent output power over
// input power, with its standard uncertainty from the coherence; coherence is
// that of the band. Not a number where the band holds no bin or no input.
func (t *Transfer) BandGain(fromHz, toHz float64) (gain, u, coherence float64) {
	var in, out, coherent float64
	n := 0
	for k := t.first(fromHz); k <= t.last(toHz); k++ {
		in += t.Input[k]
		out += t.Output[k]
		coherent += t.Output[k] * t.Coherence(k)
		n++
	}
	if n == 0 || in <= 0 || out <= 0 {
		return math.NaN(), math.NaN(), 0
	}
	coherence = coherent / out
	gain = math.Sqrt(coherent / in)
	if coherence <= 0 {
		return 0, math.NaN(), 0
	}
	// var|H|/|H|² = (1 − γ²)/(2 γ² n), over independent bins: a Hann window
	// shares each with half of the next on both sides.
	independent := math.Max(1, float64(n)/1.5) * t.Effective
	return gain, gain * math.Sqrt((1-coherence)/(2*coherence*independent)), coherence
}

// IncoherentShare is the root of the part of the output power in a band that is
// not coherent with the input: noise, hum and distortion, over the whole; with
// its statistical standard uncertainty. A linear system without noise has 0.
func (t *Transfer) IncoherentShare(fromHz, toHz float64) (share, u float64) {
	var out, rest, square float64
	for k := t.first(fromHz); k <= t.last(toHz); k++ {
		r := t.Output[k] * (1 - t.Coherence(k))
		out += t.Output[k]
		rest += r
		square += r * r * 1.5
	}
	if out <= 0 {
		return math.NaN(), math.NaN()
	}
	share = math.Sqrt(rest / out)
	if rest == 0 {
		return 0, 1 / math.Sqrt(t.Effective)
	}
	return share, share / 2 * math.Sqrt(square/t.Effective) / rest
}

func (t *Transfer) first(hz float64) int { return max(1, int(math.Ceil(hz/t.DF()))) }
func (t *Transfer) last(hz float64) int {
	return min(len(t.Input)-1, int(math.Floor(hz/t.DF())))
}

// MeasureTransfer reads input and output, both of one channel and one sample
// rate, side by side, the input shifted by the delay (by whole frames and by
// phase), in Hann segments that half overlap.
func MeasureTransfer(ctx context.Context, input, output Source, o TransferOptions, progress func(float64)) (*Transfer, error) {
	if input.Channels() != 1 || output.Channels() != 1 {
		return nil, fmt.Errorf("signal: input of %d channels and output of %d, expected one each", input.Channels(), output.Channels())
	}
	if input.Rate() != output.Rate() {
		return nil, fmt.Errorf("signal: input at %g samples a second and output at %g, expected one rate", input.Rate(), output.Rate())
	}
	rate := output.Rate()
	n := o.Segment
	if n == 0 {
		n = 1 << int(math.Round(math.Log2(rate/6)))
	}
	if n < 64 {
		return nil, fmt.Errorf("signal: segments of %d frames, expected 64 at least", n)
	}
	a := newTransferSums(rate, n)
	in, out := &lookback{src: input}, &lookback{src: output}
	for at := a.start(o.Delay); ; at += int64(n / 2) {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		done, err := a.segment(in, out, at, o.Delay)
		if err != nil {
			return nil, err
		}
		if done {
			break
		}
		if progress != nil && o.Frames > 0 {
			progress(math.Min(1, float64(at)/float64(o.Frames)))
		}
	}
	return a.finish()
}

// transferSums gathers the spectra of segments.
type transferSums struct {
	rate   float64
	fft    *realFFT
	window []float64
	x, y   []float64
	cx, cy []complex128
	t      Transfer
}

func newTransferSums(rate float64, n int) *transferSums {
	bins := n/2 + 1
	a := &transferSums{
		rate: rate, fft: newRealFFT(n), window: make([]float64, n), x: make([]float64, n), y: make([]float64, n),
		cx: make([]complex128, bins), cy: make([]complex128, bins),
		t: Transfer{RateHz: rate, Segment: n, Input: make([]float64, bins), Output: make([]float64, bins), Cross: make([]complex128, bins)},
	}
	for i := range a.window {
		a.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	return a
}

// start is the first frame of the output to which there is input.
func (a *transferSums) start(d Delay) int64 {
	return int64(math.Max(0, math.Ceil(d.Seconds*a.rate)+1))
}

// segment adds the segment of the output that begins at a frame.
func (a *transferSums) segment(in, out *lookback, at int64, d Delay) (done bool, err error) {
	n := len(a.x)
	middle := (float64(at) + float64(n)/2) / a.rate
	behind := d.At(middle) * a.rate
	from := math.Floor(float64(at) - behind)
	part := float64(at) - behind - from // the input wanted begins so much later than the frame
	if from < 0 {
		return false, nil
	}
	y, err := out.frames(at, n)
	if err != nil {
		return errors.Is(err, io.EOF), notEOF(err)
	}
	x, err := in.frames(int64(from), n)
	if err != nil {
		return errors.Is(err, io.EOF), notEOF(err)
	}
	a.transform(a.cx, a.x, x)
	a.transform(a.cy, a.y, y)
	for k := range a.cx {
		turned := a.cx[k] * cmplx.Rect(1, 2*math.Pi*float64(k)*part/float64(n))
		a.t.Input[k] += sqAbs(turned)
		a.t.Output[k] += sqAbs(a.cy[k])
		a.t.Cross[k] += cmplx.Conj(turned) * a.cy[k]
	}
	a.t.Segments++
	return false, nil
}

func notEOF(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

func sqAbs(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// transform windows a segment, its mean taken off.
func (a *transferSums) transform(dst []complex128, buf, x []float64) {
	mean := 0.0
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	for i, v := range x {
		buf[i] = (v - mean) * a.window[i]
	}
	a.fft.Coefficients(dst, buf)
}

// finish turns sums into densities: 2/(fs·Σw²), Σw² = 3n/8 for Hann.
func (a *transferSums) finish() (*Transfer, error) {
	const least = 8
	if a.t.Segments < least {
		return nil, fmt.Errorf("signal: %d segments of %d frames that both recordings cover, expected %d at least", a.t.Segments, a.t.Segment, least)
	}
	scale := 2 / (a.rate * 0.375 * float64(a.t.Segment) * float64(a.t.Segments))
	for k := range a.t.Input {
		a.t.Input[k] *= scale
		a.t.Output[k] *= scale
		a.t.Cross[k] *= complex(scale, 0)
	}
	a.t.Effective = float64(a.t.Segments) / 1.0556 // Hann, half overlap: variance 1.0556/K
	return &a.t, nil
}

// lookback reads a source forwards and keeps what may be asked for again.
type lookback struct {
	src  Source
	buf  []float64
	base int64 // frame of buf[0]
}

// frames returns n frames from a frame on that is not before that of the call
// before; valid until the next call. io.EOF where the source ends before.
func (l *lookback) frames(from int64, n int) ([]float64, error) {
	if from < l.base {
		return nil, fmt.Errorf("signal: frame %d asked for after frame %d was let go", from, l.base)
	}
	if drop := min(from-l.base, int64(len(l.buf))); drop > 0 {
		l.buf = append(l.buf[:0], l.buf[drop:]...)
		l.base += drop
	}
	for skip := from - l.base; skip > 0; {
		k, err := l.read(int(min(skip, 8192)))
		if err != nil {
			return nil, err
		}
		l.buf, l.base, skip = l.buf[:0], l.base+int64(k), skip-int64(k)
	}
	for len(l.buf) < n {
		if _, err := l.read(n - len(l.buf)); err != nil {
			return nil, err
		}
	}
	return l.buf[:n], nil
}

// read appends up to n frames.
func (l *lookback) read(n int) (int, error) {
	old := len(l.buf)
	l.buf = append(l.buf, make([]float64, n)...)
	k, err := l.src.Read(l.buf[old:])
	l.buf = l.buf[:old+k]
	if k > 0 {
		err = nil
	}
	return k, err
}
