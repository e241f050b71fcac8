package signal

import (
	"math"
	"math/cmplx"
)

// lineSpectrum is the transform of one block under a raised cosine (Hann), with
// phases counted from the middle of the block.
type lineSpectrum struct {
	rate float64
	n    int
	w    []float64
	fft  *realFFT
	buf  []float64
	x    []complex128 // bins 0 to n/2, in units of a line's amplitude
}

func newLineSpectrum(rate float64, n int) *lineSpectrum {
	s := &lineSpectrum{rate: rate, n: n, w: make([]float64, n), fft: newRealFFT(n), buf: make([]float64, n)}
	for i := range s.w {
		s.w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	return s
}

func (s *lineSpectrum) df() float64 { return s.rate / float64(s.n) }

// transform takes the block. A line of peak a, in the middle of a bin, gives a.
func (s *lineSpectrum) transform(x []float64) {
	for i, v := range x {
		s.buf[i] = v * s.w[i]
	}
	s.x = s.fft.Coefficients(s.x, s.buf)
	scale := 4 / float64(s.n)
	for k := range s.x {
		if k%2 == 0 {
			s.x[k] *= complex(scale, 0)
		} else {
			s.x[k] *= complex(-scale, 0)
		}
	}
}

// density is the one-sided density in bin k, full-scale²/Hz.
// abs(X)² = S rate n (3/8)/2 for the plain transform X.
func (s *lineSpectrum) density(k int) float64 {
	p := real(s.x[k])*real(s.x[k]) + imag(s.x[k])*imag(s.x[k])
	return p * float64(s.n) / (3 * s.rate)
}

// hannKernel is the transform of the raised cosine at so many bins from a line,
// 1 in the middle (F. J. Harris, Proc. IEEE 66 (1978) 51, eq. 27).
func hannKernel(d float64) float64 {
	if a := math.Abs(d); a < 1e-6 {
		return 1
	} else if math.Abs(a-1) < 1e-6 {
		return 0.5
	}
	return math.Sin(math.Pi*d) / (math.Pi * d * (1 - d*d))
}

// line is the complex amplitude (peak) of a line at hz, phase at the middle of
// the block: least squares over the five bins nearest to it.
func (s *lineSpectrum) line(hz float64) complex128 {
	at := hz / s.df()
	k := int(math.Round(at))
	var sum complex128
	norm := 0.0
	for m := k - 2; m <= k+2; m++ {
		if m < 0 || m >= len(s.x) {
			continue
		}
		g := hannKernel(float64(m) - at)
		sum += s.x[m] * complex(g, 0)
		norm += g * g
	}
	if norm == 0 {
		return 0
	}
	return sum / complex(norm, 0)
}

// lineReach is how many bins from a line its leakage is taken off; there it is
// 1e-6 of the line.
const lineReach = 64

// take subtracts a line of complex amplitude a at hz.
func (s *lineSpectrum) take(hz float64, a complex128) {
	at := hz / s.df()
	k := int(math.Round(at))
	for m := max(0, k-lineReach); m <= min(len(s.x)-1, k+lineReach); m++ {
		s.x[m] -= a * complex(hannKernel(float64(m)-at), 0)
	}
}

// lines finds the amplitudes of several lines together: each is taken off
// before the next is read, twice over, so that none leaks into another. What
// is left in the spectrum is without them.
func (s *lineSpectrum) lines(hz []float64, amp []complex128) {
	for i := range amp {
		amp[i] = 0
	}
	for range 2 {
		for i, f := range hz {
			if f <= 0 {
				continue
			}
			d := s.line(f)
			amp[i] += d
			s.take(f, d)
		}
	}
}

// Noise of density S gives each of the two parts of a line's amplitude, read
// from Hann blocks as above, the variance lineVariance·S/T: the weight on the
// samples is the raised cosine squared, mean(w⁴)/mean(w²)² = (35/128)/(9/64).
const lineVariance = 35.0 / 18

// lineAverages is the time in blocks that m blocks, of which pairs overlap by
// half, count for: T = 1/(mean weight² over squared mean) of the sum of the
// squared raised cosines. One block counts 0.514, many half the number.
func lineAverages(m, pairs int) float64 {
	if m == 0 {
		return 0
	}
	sum := float64(m) * 3 / 8
	return sum * sum / (float64(m)*35/128 + 2*float64(pairs)*3/256)
}

func peakPower(a complex128) float64 { return cmplx.Abs(a) * cmplx.Abs(a) / 2 }
