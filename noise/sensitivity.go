package noise

import (
	"errors"
	"math"
)

// CWSensitivity returns the carrier level in dBm, available power, at which a
// receiver with a beat oscillator (or for single sideband) reaches (S+N)/N in
// dB: kT0B + NF + S/N. With 3.0103 dB it is the noise floor itself.
func CWSensitivity(figureDB, bandwidthHz, overNoiseDB float64) float64 {
	return ThermalDBm(bandwidthHz) + figureDB + SignalToNoise(overNoiseDB)
}

// AMSensitivity returns the carrier level in dBm at which a receiver with an
// envelope detector reaches (S+N)/N in dB with a modulation depth m, the noise
// being that with the carrier on: S/N = m² C/N. bandwidthHz is the noise
// bandwidth before the detector, or twice that of the audio part where it is
// narrower. Derived for a carrier 10 dB above the noise and more; below,
// [Envelope] says how far it is off.
func AMSensitivity(figureDB, bandwidthHz, depth, overNoiseDB float64) float64 {
	return CWSensitivity(figureDB, bandwidthHz, overNoiseDB) - 20*math.Log10(depth)
}

// Envelope returns how the signal-to-noise ratio behind a linear envelope
// detector falls short of the large-signal law m²·C/N: a factor from 0 to 1 for
// a carrier-to-noise power ratio cnr before it. At 10 it is 0.97; it goes to 0
// with the carrier (the detector suppresses the weak signal). The audio part is
// taken to pass all of the detected noise.
//
// The envelope of a carrier in Gaussian noise has the distribution of Rice:
// mean σ·sqrt(π/2)·L(−cnr), L the Laguerre function of order one half, second
// moment 2σ² (1 + cnr). Slow modulation of small depth moves the mean by its
// derivative; the noise is the variance. Derived from these two moments.
func Envelope(cnr float64) float64 {
	if !(cnr > 0) {
		return 0
	}
	if cnr > 300 {
		return 1 - 1/(4*cnr) // the series of what follows; its terms cancel badly there
	}
	// scaled Bessel functions of cnr/2, both times exp(−cnr/2)
	x := cnr / 2
	i0, i1 := besselI(x)
	slope := math.Sqrt(math.Pi*x/2) * (i0 + i1) // dE/dA
	mean := math.Sqrt(math.Pi/2) * ((1+cnr)*i0 + cnr*i1)
	variance := 2*(1+cnr) - mean*mean
	return slope * slope / variance
}

// besselI returns exp(−x)·I0(x) and exp(−x)·I1(x) for x >= 0, by the integrals
// (1/π)∫exp(x(cos t − 1))·cos(nt) dt from 0 to π. The trapezoidal rule converges
// faster than any power on a whole period: what it errs by is the term of order
// 2n, about exp(−2n²/x).
func besselI(x float64) (i0, i1 float64) {
	n := 16 + int(5*math.Sqrt(x))
	for k := 0; k <= n; k++ {
		c := math.Cos(math.Pi * float64(k) / float64(n))
		w := math.Exp(x * (c - 1))
		if k == 0 || k == n {
			w /= 2
		}
		i0 += w
		i1 += w * c
	}
	return i0 / float64(n), i1 / float64(n)
}

// EquivalentSidebandInput returns the voltage of an unmodulated signal that
// would give as much output as the noise: E = m·Es·sqrt(Pn/Ps), from the carrier
// voltage, the depth, and the output powers of noise and of modulation.
func EquivalentSidebandInput(carrierV, depth, noiseW, modulationW float64) (float64, error) {
	if !(carrierV > 0 && depth > 0 && noiseW > 0 && modulationW > 0) {
		return 0, errors.New("noise: equivalent sideband input of a voltage, depth or power that is not above zero")
	}
	return depth * carrierV * math.Sqrt(noiseW/modulationW), nil
}

// meanReading is what a meter that averages the rectified voltage and is marked
// in rms of a sine shows for noise of unit rms with a sine s times its power
// added: π/(2√2)·E|√(2s)·sin θ + g|, over the phase θ of the sine and the
// Gaussian g.
func meanReading(s float64) float64 {
	const n = 64
	sum := 0.0
	for k := range n {
		a := math.Sqrt(2*s) * math.Sin(math.Pi*(float64(k)+0.5)/n)
		sum += math.Sqrt(2/math.Pi)*math.Exp(-a*a/2) + a*math.Erf(a/math.Sqrt2) // mean of |a + g|
	}
	return math.Pi / (2 * math.Sqrt2) * sum / n
}

// AveragingNoiseDB is what an averaging meter marked in rms of a sine reads on
// Gaussian noise, in dB re its rms: 10 lg(π/4), 1.05 dB low.
var AveragingNoiseDB = DB(math.Pi / 4)

// OverNoiseOfAveraging returns (S+N)/N in dB from what an averaging meter shows
// as the ratio of tone and noise to noise. It reads noise 1.05 dB low and a
// strong tone right, so that its ratio is up to 1.05 dB too large.
func OverNoiseOfAveraging(shownDB float64) float64 {
	want := math.Pow(10, shownDB/20) * meanReading(0)
	if !(shownDB > 0) {
		return shownDB // below the noise there is no tone to tell apart
	}
	lo, hi := 0.0, Ratio(shownDB)
	for range 60 {
		mid := (lo + hi) / 2
		if meanReading(mid) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return OverNoise(DB((lo + hi) / 2))
}
