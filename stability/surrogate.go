package stability

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"
)

// setNoise makes realisations of a record's noise: series with the power at
// each frequency of the record's own residual and random phases, so that white
// noise stays white and a wandering frequency wanders.
type setNoise struct {
	n     int
	fft   *fourier.FFT
	amp   []float64 // magnitude of each coefficient
	coeff []complex128
	buf   []float64
	Sigma float64   // standard deviation, Hz
	Rho   []float64 // autocorrelation by lag in readings, from 0
	DoF   float64   // degrees of freedom of Sigma
}

// newSetNoise takes the residual of a record from its smooth course (Hz, in the
// order of the readings, taken as evenly spaced), to which used parameters have
// been fitted, and a smallest standard deviation.
func newSetNoise(resid []float64, used int, floor float64) *setNoise {
	n := len(resid)
	m := setSmoothLength(n)
	z := &setNoise{n: n, fft: fourier.NewFFT(m), buf: make([]float64, m)}
	mean := 0.0
	for _, v := range resid {
		mean += v / float64(n)
	}
	sumSq := 0.0
	for i, v := range resid {
		z.buf[i] = v - mean
		sumSq += z.buf[i] * z.buf[i]
	}
	z.Sigma = math.Max(floor, math.Sqrt(sumSq/math.Max(1, float64(n-used))))
	z.coeff = z.fft.Coefficients(nil, z.buf)
	z.amp = make([]float64, len(z.coeff))
	for k, c := range z.coeff {
		z.amp[k] = cmplx.Abs(c)
	}
	z.smoothSpectrum()
	z.scaleAmplitudes(sumSq)
	z.correlate()
	return z
}

// smoothSpectrum averages the power over neighbouring frequencies, ±30 %, and
// carries it on flat below the third: what has been fitted is missing there.
func (z *setNoise) smoothSpectrum() {
	n := len(z.amp)
	sum := make([]float64, n+1)
	for k, a := range z.amp {
		sum[k+1] = sum[k] + a*a
	}
	for k := range z.amp {
		c := min(max(k, 3), n-1)
		wide := max(1, c*3/10)
		lo, hi := max(min(1, n-1), c-wide), min(n, c+wide+1)
		z.amp[k] = math.Sqrt(math.Max(0, sum[hi]-sum[lo]) / float64(hi-lo))
	}
}

// of returns the standard deviation of Σ w·noise.
func (z *setNoise) of(w []float64) float64 {
	for i := range z.buf {
		z.buf[i] = 0
	}
	copy(z.buf, w)
	z.coeff = z.fft.Coefficients(z.coeff, z.buf)
	sum := 0.0
	for k, c := range z.coeff {
		weight := 2.0 // both halves of the spectrum
		if k == 0 || k == len(z.coeff)-1 && len(z.buf)%2 == 0 {
			weight = 1
		}
		g := cmplx.Abs(c) * z.amp[k]
		sum += weight * g * g
	}
	return math.Sqrt(sum) / float64(len(z.buf))
}

// scaleAmplitudes makes draws have the standard deviation Sigma; with nothing
// but rounding in the residual they are white.
func (z *setNoise) scaleAmplitudes(sumSq float64) {
	m := float64(len(z.buf))
	power := 0.0 // Parseval: the sum of |c|² over both halves is m² times the variance of a draw
	for k, a := range z.amp {
		if k == 0 || k == len(z.amp)-1 && len(z.buf)%2 == 0 {
			power += a * a
		} else {
			power += 2 * a * a
		}
	}
	if power <= 0 || z.Sigma*z.Sigma > 100*sumSq/float64(z.n) {
		for k := range z.amp {
			z.amp[k] = z.Sigma * math.Sqrt(m)
		}
		return
	}
	gain := z.Sigma * m / math.Sqrt(power)
	for k := range z.amp {
		z.amp[k] *= gain
	}
}

// correlate finds the autocorrelation from the spectrum (Wiener-Khinchin), to a
// quarter of the record, and from it the degrees of freedom of the variance:
// n/Σρ² over all lags (Bartlett's formula for the variance of a variance).
func (z *setNoise) correlate() {
	for k, a := range z.amp {
		z.coeff[k] = complex(a*a, 0)
	}
	z.buf = z.fft.Sequence(z.buf, z.coeff)
	r0 := z.buf[0]
	lags := max(1, z.n/4)
	z.Rho = make([]float64, lags)
	z.Rho[0] = 1
	sum := 1.0
	for k := 1; k < lags && r0 > 0; k++ {
		z.Rho[k] = z.buf[k] / r0
		if math.Abs(z.Rho[k]) > 2/math.Sqrt(float64(z.n)) {
			sum += 2 * z.Rho[k] * z.Rho[k]
		}
	}
	z.DoF = math.Max(1, float64(z.n)/sum-1)
}

// draw fills dst (of the residual's length) with one realisation.
func (z *setNoise) draw(rng *rand.Rand, dst []float64) {
	for k, a := range z.amp {
		z.coeff[k] = cmplx.Rect(a, 2*math.Pi*rng.Float64())
	}
	last := len(z.coeff) - 1
	z.coeff[0] = complex(z.amp[0]*rng.NormFloat64(), 0)
	if len(z.buf)%2 == 0 {
		z.coeff[last] = complex(z.amp[last]*rng.NormFloat64(), 0)
	}
	z.buf = z.fft.Sequence(z.buf, z.coeff)
	for i := range dst {
		dst[i] = z.buf[i] / float64(len(z.buf))
	}
}

// setSmoothLength returns the smallest number not below n without prime factors
// above 5: the transform is slow for large ones.
func setSmoothLength(n int) int {
	for m := max(n, 2); ; m++ {
		rest := m
		for _, p := range []int{2, 3, 5} {
			for rest%p == 0 {
				rest /= p
			}
		}
		if rest == 1 {
			return m
		}
	}
}
