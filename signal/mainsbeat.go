package signal

import (
	"context"
	"fmt"
	"math"
)

// mainsBeat looks for two things that a supply does to a recording: lines of hum
// that swell and fade slowly, as two supplies do that differ a little, and a
// strong tone whose level follows the line frequency.
type mainsBeat struct {
	lines  *lineAnalysis
	fill   []float64
	have   int
	at     int64
	low    *decimator
	lower  []float64 // samples at the lower rate
	strong *toneEnvelope
	power  [][]float64 // of each harmonic of hum, block by block
	stepS  float64
	merge  int
	hold   []float64
	held   int
}

// beatRate is at least the rate, in hertz, at which hum is looked at: its tenth
// harmonic lies below 700 Hz.
const beatRate = 3000

// beatMost is the number of blocks kept; then neighbours are put together.
const beatMost = 1 << 14

// newMainsBeat watches a recording that begins with head; it takes the size of
// the strongest line from watch.
func newMainsBeat(ctx context.Context, rate float64, head []float64, lineHz float64, watch *phaseWatch) *mainsBeat {
	b := &mainsBeat{strong: newToneEnvelope(watch), low: newDecimator(rate, beatRate), merge: 1}
	lower := newDecimator(rate, beatRate).add(nil, head)
	a := newLineAnalysis(b.low.rate, int64(len(lower)), 0, 0, b.low.rate*0.45)
	a.startHum(ctx, lower, HumOptions{LineHz: lineHz}.withDefaults())
	if a.hum != nil {
		b.lines, b.fill = a, make([]float64, a.size)
		b.stepS = a.blockS() / 2
		b.power, b.hold = make([][]float64, a.hum.harmonics), make([]float64, a.hum.harmonics)
	}
	return b
}

func (b *mainsBeat) add(x []float64) {
	if b.lines == nil {
		return
	}
	b.lower = b.low.add(b.lower[:0], x)
	x = b.lower
	for len(x) > 0 {
		n := copy(b.fill[b.have:], x)
		b.have += n
		x = x[n:]
		if b.have == len(b.fill) {
			b.lines.block(b.fill, b.at)
			b.keep()
			half := len(b.fill) / 2
			copy(b.fill, b.fill[half:])
			b.have -= half
			b.at += int64(half)
		}
	}
}

// keep stores the powers of the lines of the block.
func (b *mainsBeat) keep() {
	b.held++
	for h, a := range b.lines.lineAmp {
		b.hold[h] += peakPower(a)
	}
	if b.held < b.merge {
		return
	}
	for h := range b.power {
		b.power[h] = append(b.power[h], b.hold[h]/float64(b.held))
		b.hold[h] = 0
	}
	b.held = 0
	if len(b.power[0]) < beatMost {
		return
	}
	for h, p := range b.power {
		for i := 0; i < len(p)/2; i++ {
			p[i] = (p[2*i] + p[2*i+1]) / 2
		}
		b.power[h] = p[:len(p)/2]
	}
	b.merge *= 2
	b.stepS *= 2
}

// result is the deeper of what was seen, or nil.
func (b *mainsBeat) result() *Beat {
	if slow := b.slow(); slow != nil {
		return slow
	}
	line := 0.0
	if b.lines != nil {
		line = b.lines.hum.hz
	}
	return b.strong.mains(line)
}

// slow looks for a regular swing in the strongest line of hum: one line of the
// spectrum of its amplitude that holds most of what varies.
func (b *mainsBeat) slow() *Beat {
	if b.lines == nil || len(b.power[0]) < 32 {
		return nil
	}
	best, most := 0, 0.0
	for h, p := range b.power {
		if m, _ := meanSpread(p); m > most {
			best, most = h, m
		}
	}
	p := b.power[best]
	if noise := 2 * lineVariance * b.lines.noise.at(b.lines.hum.hz*float64(best+1)) / b.lines.blockS() / 2; most < 30*noise {
		return nil
	}
	hz, share, depth := swingOf(p, b.stepS)
	if share < 0.5 || depth < 0.5 {
		return nil
	}
	return &Beat{Hz: hz, DepthDB: depth, Text: fmt.Sprintf("hum at %.0f Hz swells and fades by %.1f dB every %.2g s: two supplies, or a machine near the line frequency", b.lines.hum.hz*float64(best+1), depth, 1/hz)}
}

// swingOf finds the regular swing in a series of powers: its rate, its share of
// all that varies, and the peak-to-peak depth in dB that this amplitude makes.
func swingOf(p []float64, stepS float64) (hz, share, depthDB float64) {
	n := lineSize(1, float64(len(p)), 0)
	x := make([]float64, n)
	mean := 0.0
	for i := range x {
		x[i] = math.Sqrt(math.Max(0, p[i]))
		mean += x[i] / float64(n)
	}
	slope, norm := 0.0, 0.0
	for i := range x {
		x[i] -= mean
		t := float64(i) - float64(n-1)/2
		slope += x[i] * t
		norm += t * t
	}
	for i := range x {
		x[i] -= slope / norm * (float64(i) - float64(n-1)/2)
	}
	c := newRealFFT(n).Coefficients(nil, x)
	best, top, total := 0, 0.0, 0.0
	sq := func(k int) float64 { return real(c[k])*real(c[k]) + imag(c[k])*imag(c[k]) }
	for k := 1; k < len(c); k++ {
		total += sq(k)
		if k >= 3 && sq(k) > top {
			best, top = k, sq(k)
		}
	}
	if best == 0 || total == 0 || mean <= 0 {
		return 0, 0, 0
	}
	near := 0.0
	for k := max(1, best-1); k <= min(len(c)-1, best+1); k++ {
		near += sq(k)
	}
	m := math.Min(0.98, 2*math.Sqrt(near)/float64(n)/mean)
	return float64(best) / float64(n) / stepS, near / total, 20 * math.Log10((1+m)/(1-m))
}

// toneEnvelope is the spectrum of the size of the strongest line, averaged over
// stretches of a second, up to some 180 Hz.
type toneEnvelope struct {
	df    float64 // of the spectrum, Hz
	x     []float64
	fft   *realFFT
	sum   []float64
	count int
	fill  int
}

func newToneEnvelope(watch *phaseWatch) *toneEnvelope {
	const n = 360
	e := &toneEnvelope{df: watch.rate / float64(watch.piece) / n, x: make([]float64, n), fft: newRealFFT(n), sum: make([]float64, n/2+1)}
	watch.tell = e.piece
	return e
}

// piece takes the size of the line in the next piece; a negative one says that
// the line was lost.
func (e *toneEnvelope) piece(size float64) {
	if size < 0 {
		e.fill = 0
		return
	}
	e.x[e.fill] = size
	if e.fill++; e.fill < len(e.x) {
		return
	}
	e.fill = 0
	mean, spread := meanSpread(e.x)
	if mean <= 0 || spread > mean {
		return
	}
	y := make([]float64, len(e.x))
	for i, v := range e.x {
		y[i] = (v/mean - 1) * (1 - math.Cos(2*math.Pi*float64(i)/float64(len(e.x))))
	}
	for k, c := range e.fft.Coefficients(nil, y) {
		e.sum[k] += real(c)*real(c) + imag(c)*imag(c)
	}
	e.count++
}

// mains looks for a modulation of the tone at the line frequency or twice it.
func (e *toneEnvelope) mains(lineHz float64) *Beat {
	if e.count < 3 {
		return nil
	}
	n := float64(len(e.x))
	df := e.df
	best, noise := 0, 0.0
	var all []float64
	for k := 1; k < len(e.sum); k++ {
		hz := float64(k) * df
		all = append(all, e.sum[k])
		at := hz > 44 && hz < 66 || hz > 88 && hz < 132
		if lineHz > 0 {
			at = math.Abs(hz-lineHz) < 1.5*df || math.Abs(hz-2*lineHz) < 1.5*df
		}
		if at && (best == 0 || e.sum[k] > e.sum[best]) {
			best = k
		}
	}
	noise = lowerHalf(all)
	if best == 0 || e.sum[best] < 20*noise {
		return nil
	}
	// Under a raised cosine of mean 1 a sine of depth m gives m n/2 in its bin.
	// The pieces are weighted by a raised cosine too, which takes some of it.
	seen := 2 * math.Sqrt(e.sum[best]/float64(e.count)) / n
	m := math.Min(0.98, seen/hannKernel(float64(best)/n))
	depth := 20 * math.Log10((1+m)/(1-m))
	if depth < 0.05 {
		return nil
	}
	return &Beat{Hz: float64(best) * df, DepthDB: depth, Text: fmt.Sprintf("the strongest tone swings by %.2f dB at %.0f Hz, as a supply does: ripple modulates it", depth, float64(best)*df)}
}

// lowerHalf is the mean of the lower half of exponential variates put right for
// having taken those only: it is 1 − ln 2 of the mean of all. It reorders x.
func lowerHalf(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	n := max(1, len(x)/2)
	lowest(x, n)
	return meanOf(x[:n]) / (1 - math.Ln2)
}
