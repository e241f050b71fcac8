package stability

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"
)

// simNoise returns n readings of simulated noise with spacing dt.
func simNoise(kind string, n int, dt float64, rng *rand.Rand) []float64 {
	x := make([]float64, n)
	switch kind {
	case "white":
		for i := range x {
			x[i] = 3 * rng.NormFloat64()
		}
	case "ar1": // correlation time 5 min
		rho := math.Exp(-dt / 300)
		v := rng.NormFloat64()
		for i := range x {
			x[i] = 3 * v
			v = rho*v + math.Sqrt(1-rho*rho)*rng.NormFloat64()
		}
	case "random walk":
		v := 0.0
		for i := range x {
			x[i] = v
			v += 0.1 * math.Sqrt(dt) * rng.NormFloat64()
		}
	case "flicker":
		simFlicker(x, rng)
	}
	return x
}

// simFlicker fills x by the half-integrated white noise of Kasdin and Walter
// (Proc. IEEE Frequency Control Symposium 1992, 274): h_0 = 1,
// h_k = h_{k-1}·(k − 1/2)/k. The noise runs as long again before the record.
func simFlicker(x []float64, rng *rand.Rand) {
	n := len(x)
	size := 1
	for size < 4*n {
		size *= 2
	}
	h, w := make([]float64, size), make([]float64, size)
	v := 1.0
	for k := 0; k < 2*n; k++ {
		if k > 0 {
			v *= (float64(k) - 0.5) / float64(k)
		}
		h[k] = v
		w[k] = rng.NormFloat64()
	}
	fft := newTestFFT(size)
	y := fft.convolve(h, w)
	copy(x, y[n:2*n])
}

type testFFT struct{ f *fourier.FFT }

func newTestFFT(n int) testFFT { return testFFT{fourier.NewFFT(n)} }

func (t testFFT) convolve(a, b []float64) []float64 {
	x, y := t.f.Coefficients(nil, a), t.f.Coefficients(nil, b)
	for i := range x {
		x[i] *= y[i]
	}
	out := t.f.Sequence(nil, x)
	for i := range out {
		out[i] /= float64(len(out))
	}
	return out
}
