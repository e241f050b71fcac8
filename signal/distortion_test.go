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

func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g ± %.3g", what, got, want, tol)
	}
}

func TestTryTone(t *testing.T) {
	r := analyse(t, tones(testRate, 10, 0.02, 1, 997, 1, 2*997, 0.05, 50.02, 0.01, 100.04, 0.02, 150.06, 0.005), ToneOptions{})
	t.Logf("%+v", *r)
	t.Logf("%+v", *r.Hum)
}
