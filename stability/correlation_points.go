package stability

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// EffectivePoints returns the number of independent points that a series with
// its autocorrelation is worth, n/(1 + 2Σρ_k), for points evenly spaced (uneven ones
// are taken in order). The sum stops by Geyer's initial positive sequence
// (Statist. Sci. 7 (1992) 473): sums of pairs of lags, while positive and no
// larger than the one before. At least 1, at most n.
func EffectivePoints(x []float64) float64 {
	n := len(x)
	if n < 3 {
		return float64(n)
	}
	rho := wuAutocorrelation(x)
	if rho == nil {
		return float64(n)
	}
	sum, last := -1.0, math.Inf(1)
	for k := 0; k+1 < n/2; k += 2 {
		pair := math.Min(rho[k]+rho[k+1], last)
		if pair <= 0 {
			break
		}
		sum += 2 * pair
		last = pair
	}
	return math.Max(1, math.Min(float64(n), float64(n)/math.Max(sum, 1e-9)))
}

// wuAutocorrelation returns ρ_0..ρ_{n/2} about the mean, or nil for no spread.
func wuAutocorrelation(x []float64) []float64 {
	n := len(x)
	size := 1
	for size < n+n/2+1 {
		size *= 2
	}
	pad := make([]float64, size)
	mean := 0.0
	for _, v := range x {
		mean += (v - x[0]) / float64(n)
	}
	for i, v := range x {
		pad[i] = v - x[0] - mean
	}
	fft := fourier.NewFFT(size)
	coef := fft.Coefficients(nil, pad)
	for i, c := range coef {
		coef[i] = complex(real(c)*real(c)+imag(c)*imag(c), 0)
	}
	acf := fft.Sequence(pad, coef)
	if !(acf[0] > 0) {
		return nil
	}
	rho := make([]float64, n/2+1)
	for i := range rho {
		rho[i] = acf[i] / acf[0]
	}
	return rho
}
