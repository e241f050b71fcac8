package signal

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func findHum(t *testing.T, rate float64, x []float64, o HumOptions) *Hum {
	t.Helper()
	h, err := FindHum(context.Background(), FromSlice(rate, x), o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// The line frequency is estimated, not assumed: a supply of the mains, a ship's
// generator at 60.7 Hz, a converter at 47.3 Hz; with the ripple of a full-wave
// rectifier alone (even harmonics) it is still the line's.
func TestLineFrequencyIsEstimated(t *testing.T) {
	const rate = 8000
	for _, c := range []struct {
		hz   float64
		amps []float64 // of the harmonics
	}{
		{50, []float64{0.01, 0.02, 0.003}},
		{49.93, []float64{0.004, 0.01, 0, 0.005, 0, 0.002}},
		{60.7, []float64{0.01}},
		{60, []float64{0, 0.01, 0, 0.004, 0, 0.002}},
		{47.3, []float64{0.002, 0.005, 0.001, 0.001}},
		{50.02, []float64{0, 0.006}},
	} {
		var fa []float64
		power := 0.0
		for i, a := range c.amps {
			fa = append(fa, c.hz*float64(i+1), a)
			power += a * a / 2
		}
		h := findHum(t, rate, tones(rate, 12, 0.01, 3, fa...), HumOptions{})
		within(t, "line frequency", h.LineHz, c.hz, math.Max(0.005, 4*h.LineU))
		within(t, "power", h.Power, power, 4*h.PowerU)
		if h.Upper || h.LineU > 0.01 {
			t.Errorf("%.2f Hz: %+v", c.hz, h)
		}
	}
}

// A supply that wanders by 0.1 Hz over a minute stays in its bins: its tenth
// harmonic goes through a whole hertz.
func TestHumOfAWanderingSupply(t *testing.T) {
	const rate = 8000
	rng := rand.New(rand.NewPCG(1, 1))
	x := make([]float64, 60*rate)
	ph := 0.0
	for i := range x {
		ph += 2 * math.Pi * (50 + 0.05*math.Sin(float64(i)/rate/9)) / rate
		x[i] = 0.01*math.Sin(ph) + 0.01*math.Sin(2*ph) + 0.005*math.Sin(10*ph) + 0.001*rng.NormFloat64()
	}
	h := findHum(t, rate, x, HumOptions{})
	within(t, "power", h.Power/(0.0001+0.0000125), 1, 0.01)
	within(t, "tenth harmonic", h.Harmonics[9].Power/0.0000125, 1, 0.02)
}

// Noise, speech-like sound, whistles and an empty recording have no line
// frequency; noise hides up to a bound, which holds what there is.
func TestNoHumIsABound(t *testing.T) {
	for k := range uint64(12) {
		x := tones(8000, 6, 0.1, k, 50, 0.0003)
		h := findHum(t, 8000, x, HumOptions{})
		if h.LineHz != 0 || !h.Upper || h.Power < 0.0003*0.0003/2 || h.Power > 3e-5 {
			t.Errorf("noise %d: %+v", k, h)
		}
	}
	for name, x := range honest(8) {
		if h := findHum(t, testRate, x, HumOptions{}); h.LineHz != 0 {
			t.Errorf("%s: a line frequency of %.3f Hz", name, h.LineHz)
		}
	}
	if h := findHum(t, 8000, tones(8000, 6, 0.001, 1, 440, 0.2, 1333, 0.1), HumOptions{}); h.LineHz != 0 {
		t.Errorf("whistles taken for hum at %.3f Hz", h.LineHz)
	}
	if h := findHum(t, 8000, make([]float64, 16000), HumOptions{}); h.LineHz != 0 || h.Power != 0 {
		t.Errorf("silence has hum %+v", h)
	}
	if _, err := FindHum(context.Background(), FromSlice(8000, make([]float64, 100)), HumOptions{}, nil); err == nil {
		t.Error("no error for 12 ms")
	}
}

// Hum and the harmonics of a tone are told apart, and where they fall on one
// another that is said: 400 Hz is the eighth of 50 Hz.
func TestHumBesideATone(t *testing.T) {
	x := tones(testRate, 8, 0.0005, 1, 400, 0.3, 800, 0.003, 50, 0.002, 100, 0.004, 150, 0.001)
	r := analyse(t, x, ToneOptions{})
	within(t, "tone", r.Hz, 400, 0.001)
	within(t, "hum", r.Hum.Power, 0.5*(4e-6+16e-6+1e-6), 4*r.Hum.PowerU)
	within(t, "THD", r.THD, 0.01, 4*r.THDU)
	if len(r.Hum.Blends) != 1 || !strings.Contains(r.Hum.Blends[0], "8 ×") {
		t.Errorf("coincidences: %q", r.Hum.Blends)
	}
	// A strong hum is not taken for the tone.
	r = analyse(t, tones(testRate, 8, 0.001, 1, 1000, 0.05, 50, 0.1, 100, 0.2, 150, 0.05, 200, 0.03), ToneOptions{})
	within(t, "tone in hum", r.Hz, 1000, 0.01)
	within(t, "SINAD in hum", r.SINADConverter, 10*math.Log10(0.0025/(0.01+0.04+0.0025+0.0009+2e-6*0.9)), 0.01)
}
