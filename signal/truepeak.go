package signal

import "math"

// True peak: greatest absolute value of the waveform that the samples stand for
// (ITU-R BS.1770, Annex 2, which asks for oversampling to 192 kHz at least). Here
// the values between the samples are found by a filter of 32 taps and seven
// positions to a sample, which is flat where the Annex's example of 12 taps and
// four positions is not (that one reads 0.24 dB low at DC in two of its phases).
// At a maximum of that grid a parabola goes on to the top.
const (
	peakTaps  = 32
	peakSteps = 8
	peakBeta  = 4.55 // Kaiser's: ripple and stop band about 50 dB
	peakMid   = peakTaps/2 - 1
	peakGroup = 16 // positions judged together
)

// peakFilter holds the taps for the positions 0, 1/8 .. 1 between the two
// middle samples of 32.
var peakFilter = makePeakFilter()

func makePeakFilter() (out [peakSteps + 1][peakTaps]float64) {
	for p := range out {
		at := float64(p) / peakSteps
		var w [peakTaps]float64
		for k := range w {
			x := float64(k-peakMid) - at
			w[k] = kaiser(x/(peakTaps/2), peakBeta)
			out[p][k] = sinc(x) * w[k]
		}
		straighten(&out[p], w, at)
	}
	return out
}

// straighten makes taps exact for a constant and for a slope, by adding the
// window times a straight line; this is what lets [bends] be bounded.
func straighten(taps *[peakTaps]float64, w [peakTaps]float64, at float64) {
	var m0, m1, w0, w1, w2 float64
	for k, h := range taps {
		x := float64(k-peakMid) - at
		m0, m1 = m0+h, m1+h*x
		w0, w1, w2 = w0+w[k], w1+w[k]*x, w2+w[k]*x*x
	}
	det := w0*w2 - w1*w1
	a := ((1-m0)*w2 + m1*w1) / det
	b := (-m1*w0 - (1-m0)*w1) / det
	for k := range taps {
		taps[k] += (a + b*(float64(k-peakMid)-at)) * w[k]
	}
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// kaiser is Kaiser's window at x in −1..1.
func kaiser(x, beta float64) float64 {
	if x < -1 || x > 1 {
		return 0
	}
	return bessel0(beta*math.Sqrt(1-x*x)) / bessel0(beta)
}

// bessel0 is the modified Bessel function of order 0, by its series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}

// peakBound bounds the filter's output at one position from little work, so
// that most positions of a recording need no more: with x0 and x1 the two
// samples it lies between, e the sum of squares of the others and d the greatest
// second difference within reach,
//
//	|y| <= |h0·x0 + h1·x1| + far·sqrt(e)          (Cauchy-Schwarz)
//	|y| <= |(1-at)·x0 + at·x1| + bend·d           (exact for slopes)
type peakBound struct{ h0, h1, at, far, bend float64 }

var peakBounds = makePeakBounds()

func makePeakBounds() (out [peakSteps + 1]peakBound) {
	for p, taps := range peakFilter {
		at := float64(p) / peakSteps
		far := 0.0
		for k, h := range taps {
			if k != peakMid && k != peakMid+1 {
				far += h * h
			}
		}
		out[p] = peakBound{taps[peakMid], taps[peakMid+1], at, math.Sqrt(far), bends(taps, at)}
	}
	return out
}

// bends is the sum of absolute values of what the taps, less a straight line
// between the middle samples, apply to the second differences: their second sums.
func bends(taps [peakTaps]float64, at float64) float64 {
	taps[peakMid] -= 1 - at
	taps[peakMid+1] -= at
	var g, s1, s2 float64
	for _, h := range taps {
		s1 += h
		s2 += s1
		g += math.Abs(s2)
	}
	return g
}

// peakFinder finds the true peak of what it is given in blocks.
type peakFinder struct {
	max float64
	buf []float64 // what is not done yet, with the filter's reach before it
}

const peakBuffer = 4096

// newPeakFinder begins after silence, as the Recommendation's filter does.
func newPeakFinder() *peakFinder {
	return &peakFinder{buf: make([]float64, peakMid, peakBuffer+peakTaps)}
}

// restart forgets what came before: samples are missing.
func (p *peakFinder) restart() {
	if len(p.buf) > peakMid {
		p.work()
		p.buf = p.buf[:0]
	}
}

func (p *peakFinder) add(x []float64) {
	for len(x) > 0 {
		k := min(len(x), cap(p.buf)-len(p.buf))
		p.buf = append(p.buf, x[:k]...)
		x = x[k:]
		if len(p.buf) == cap(p.buf) {
			p.work()
		}
	}
}

// finish lets silence follow.
func (p *peakFinder) finish() {
	p.add(make([]float64, peakTaps/2))
	p.work()
}

// work does all positions that have their samples, and keeps what the next need.
func (p *peakFinder) work() {
	positions := len(p.buf) - peakTaps + 1
	if positions <= 0 {
		return
	}
	for i := 0; i < positions; i += peakGroup {
		p.group(p.buf[i : min(i+peakGroup, positions)+peakTaps-1])
	}
	p.buf = p.buf[:copy(p.buf, p.buf[positions:])]
}

// group does the positions whose reach is x.
func (p *peakFinder) group(x []float64) {
	squares, bend, near := survey(x)
	p.max = math.Max(p.max, near)
	const half = peakSteps / 2 // whose bounds are the widest
	b := &peakBounds[half]
	if 2*b.h0*near+b.far*math.Sqrt(squares) <= p.max || near+b.bend*bend <= p.max {
		return
	}
	energy := sumSquares(x[:peakTaps-1])
	for i := 0; i+peakTaps <= len(x); i++ {
		reach := x[i : i+peakTaps]
		energy += reach[peakTaps-1] * reach[peakTaps-1]
		p.position(reach, energy, bend)
		energy = max(0, energy-reach[0]*reach[0])
	}
}

// survey is the sum of squares, the greatest second difference, and the
// greatest sample between which positions lie.
func survey(x []float64) (squares, bend, near float64) {
	squares = sumSquares(x)
	for i := 2; i < len(x); i++ {
		if d := math.Abs(x[i] - 2*x[i-1] + x[i-2]); d > bend {
			bend = d
		}
	}
	for _, v := range x[peakMid : len(x)-peakTaps/2+1] {
		if a := math.Abs(v); a > near {
			near = a
		}
	}
	return squares, bend, near
}

// position looks between the two middle samples of x.
func (p *peakFinder) position(x []float64, energy, bend float64) {
	x0, x1 := x[peakMid], x[peakMid+1]
	far := math.Sqrt(max(0, energy-x0*x0-x1*x1))
	for s := 1; s < peakSteps; s++ {
		b := &peakBounds[s]
		if math.Abs(b.h0*x0+b.h1*x1)+b.far*far <= p.max || math.Abs(x0+b.at*(x1-x0))+b.bend*bend <= p.max {
			continue
		}
		y := math.Abs(interpolate(&peakFilter[s], x))
		if y > p.max {
			p.max = p.climb(s, x, y)
		}
	}
}

// climb is the top of the parabola through a value and its neighbours on the
// grid, where the value is the greatest of the three.
func (p *peakFinder) climb(s int, x []float64, y float64) float64 {
	a, c := math.Abs(interpolate(&peakFilter[s-1], x)), math.Abs(interpolate(&peakFilter[s+1], x))
	if curve := a - 2*y + c; y >= a && y >= c && curve < 0 {
		return y - (a-c)*(a-c)/(8*curve)
	}
	return y
}

func interpolate(taps *[peakTaps]float64, x []float64) float64 {
	x = x[:peakTaps]
	var a, b, c, d float64
	for k := 0; k < peakTaps; k += 4 {
		a += taps[k] * x[k]
		b += taps[k+1] * x[k+1]
		c += taps[k+2] * x[k+2]
		d += taps[k+3] * x[k+3]
	}
	return a + b + (c + d)
}
