package signal

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

const testRate = 48000

// tones is a sum of sines given as frequency and peak, and white noise.
func tones(rate, seconds, noise float64, seed uint64, fa ...float64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 5))
	x := make([]float64, int(rate*seconds))
	for i := range x {
		t := float64(i) / rate
		for j := 0; j+1 < len(fa); j += 2 {
			x[i] += fa[j+1] * math.Sin(2*math.Pi*fa[j]*t+float64(j))
		}
		if noise > 0 {
			x[i] += noise * rng.NormFloat64()
		}
	}
	return x
}

func analyse(t *testing.T, x []float64, o ToneOptions) *Tone {
	t.Helper()
	r, err := AnalyseTone(context.Background(), FromSlice(testRate, x), o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Tone 1, second harmonic 0.05 (peaks), noise 0.02 rms, in the whole band (audio
// reference 4.2, recomputed): THD 0.05, THD+N 0.057351, SINAD of a radio 24.829
// dB, of a converter 24.815 dB, S/N 30.969 dB.
func TestToneWithSecondHarmonicAndNoise(t *testing.T) {
	r := analyse(t, tones(testRate, 10, 0.02, 1, 997, 1, 1994, 0.05), ToneOptions{FromHz: 1, ToHz: 23519})
	// The noise of the 2 % above the band is not in it.
	share := 23518.0 / 24000
	rest := 0.00125 + 0.0004*share
	within(t, "frequency", r.Hz, 997, 4*r.HzU)
	within(t, "THD", r.THD, 0.05, 4*r.THDU)
	within(t, "THD with noise", r.THDNoise, math.Sqrt(rest/(0.5+rest)), 4*r.THDNoiseU)
	within(t, "SINAD, radio", r.SINADRadio, 10*math.Log10((0.5+rest)/rest), 4*r.SINADRadioU)
	within(t, "SINAD, radio, as printed", r.SINADRadio, 24.829, 0.03)
	within(t, "SINAD, converter, as printed", r.SINADConverter, 24.815, 0.03)
	within(t, "THD with noise, as printed", r.THDNoise, 0.057351, 0.0002)
	within(t, "S/N", 10*math.Log10(r.Power/r.Noise), 30.969-10*math.Log10(share), 0.03)
	if r.Hum.LineHz != 0 || !r.Hum.Upper {
		t.Errorf("hum found where there is none: %+v", r.Hum)
	}
}

// Harmonics 1, 0.1, 0.05, 0.02 (audio reference 4.2, read in a secondary source
// and recomputed).
func TestHarmonicsOfThePublishedExample(t *testing.T) {
	r := analyse(t, tones(testRate, 4, 1e-5, 1, 997, 0.8, 1994, 0.08, 2991, 0.04, 3988, 0.016), ToneOptions{})
	within(t, "THD over the fundamental", r.THD, 0.1135782, 2e-6)
	within(t, "THD over all", r.THDTotal, 0.1128526, 2e-6)
	within(t, "second harmonic over the total", math.Sqrt(r.Harmonics[0].Power/(r.Power+r.Residual)), 0.0993612, 2e-6)
}
