package signal

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// The row of testdata/distortion.csv by name.
func distortionRow(t *testing.T, name string) float64 {
	t.Helper()
	for _, r := range publishedRows(t, "distortion.csv") {
		if r["row"] == name {
			return published(t, r, "value")
		}
	}
	t.Fatalf("no row %q in testdata/distortion.csv", name)
	return 0
}

// Both conventions of SINAD from one recording, at the levels of the reference:
// the converter's is the lower, and is not the same number. Noise is one line
// that is no harmonic, so that the truth is exact.
func TestSINADConventions(t *testing.T) {
	for _, c := range []struct {
		radio float64
		row   string
	}{
		{6, "SINAD converter at 6 dB radio"}, {10, "SINAD converter at 10 dB radio"}, {12, "SINAD converter at 12 dB radio"},
		{20, "SINAD converter at 20 dB radio"}, {40, "SINAD converter at 40 dB radio"},
	} {
		rest := 0.5 / (math.Pow(10, c.radio/10) - 1)
		r := analyse(t, tones(testRate, 3, 0, 1, 1003, 1, 1711, math.Sqrt(2*rest)), ToneOptions{LineHz: -1})
		within(t, "radio", r.SINADRadio, c.radio, 0.002)
		within(t, c.row, r.SINADConverter, distortionRow(t, c.row), 0.003)
		within(t, "THD with noise is SINAD", -20*math.Log10(r.THDNoise), r.SINADRadio, 1e-9)
	}
	r := analyse(t, tones(testRate, 3, 0, 1, 1003, 1, 1711, math.Sqrt(1/(math.Pow(10, 1.2)-1))), ToneOptions{LineHz: -1})
	within(t, "residual over total", 100*r.THDNoise, distortionRow(t, "residual over total at 12 dB"), 0.01)
	within(t, "residual over tone", 100*math.Sqrt(r.Residual/r.Power), distortionRow(t, "residual over tone at 12 dB"), 0.01)
}

// Ideal waves by all their harmonics below 10 times the fundamental, and the
// whole sum by the residual: the printed values sum to infinity, and what lies
// above the band is taken from the series.
func TestTHDOfIdealWaves(t *testing.T) {
	for _, c := range []struct {
		row  string
		size func(n int) float64
	}{
		{"THD of a square wave", func(n int) float64 { return float64(n%2) / float64(n) }},
		{"THD of a triangle", func(n int) float64 { return float64(n%2) / float64(n*n) }},
		{"THD of a sawtooth", func(n int) float64 { return 1 / float64(n) }},
	} {
		var fa []float64
		above := 0.0
		for n := 1; n <= 200000; n++ {
			a := c.size(n)
			if n <= 10 {
				fa = append(fa, 401*float64(n), 0.4*a)
			} else {
				above += a * a
			}
		}
		r := analyse(t, tones(testRate, 2, 0, 1, fa...), ToneOptions{LineHz: -1})
		within(t, c.row, math.Sqrt(r.THD*r.THD+above), distortionRow(t, c.row), 2e-5)
	}
}

// A full-scale sine rounded to N bits, whole periods of it: SINAD 6.0206 N +
// 1.761 dB, 0.1 dB allowed.
func TestSINADOfRounding(t *testing.T) {
	for _, bits := range []int{8, 12, 16} {
		x := tones(testRate, 4, 0, 1, 997, 1-1/math.Pow(2, float64(bits-1)))
		for i, v := range x {
			q := math.Pow(2, float64(bits-1))
			x[i] = math.Round(v*q) / q
		}
		r := analyse(t, x, ToneOptions{FromHz: 1, ToHz: 23517, LineHz: -1, Harmonics: 10})
		share := 10 * math.Log10(23516.0/24000)
		want := 6.0206*float64(bits) + 1.761 - share + 20*math.Log10(1-1/math.Pow(2, float64(bits-1)))
		within(t, "SINAD of rounding", r.SINADConverter, want, 0.15)
	}
}

// (S+N)/N by a recording with the modulation and one without it gives S/N as
// printed: both are the same sums of powers.
func TestSignalPlusNoise(t *testing.T) {
	for _, c := range []struct {
		db  float64
		row string
	}{{3, "S/N at 3 dB (S+N)/N"}, {6, "S/N at 6 dB (S+N)/N"}, {10, "S/N at 10 dB (S+N)/N"}, {12, "S/N at 12 dB (S+N)/N"}, {20, "S/N at 20 dB (S+N)/N"}} {
		noise := 0.5 / (math.Pow(10, c.db/10) - 1)
		within(t, c.row, 10*math.Log10(0.5/noise), distortionRow(t, c.row), 0.0006)
		r := analyse(t, tones(testRate, 3, 0, 1, 1003, 1, 1711, math.Sqrt(2*noise)), ToneOptions{Hz: 1003, LineHz: -1})
		within(t, c.row+", measured", 10*math.Log10(r.Power/r.Residual), distortionRow(t, c.row), 0.003)
	}
}

// The frequency of a tone is known as well as theory allows (audio reference
// 4.2: 8000 samples at 8 kHz, amplitude 1, sigma 0.5: bound 0.00436 Hz): the
// scatter of a half-overlapped block fit stays within 2.5 times that, and the
// stated uncertainty tells the truth about it.
func TestFrequencyAgainstTheBound(t *testing.T) {
	bound := distortionRow(t, "frequency bound")
	var sum, stated float64
	const n = 40
	for k := range n {
		rng := rand.New(rand.NewPCG(uint64(k), 3))
		x := make([]float64, 8000)
		for i := range x {
			x[i] = math.Sin(2*math.Pi*1000.3*float64(i)/8000) + 0.5*rng.NormFloat64()
		}
		r, err := AnalyseTone(context.Background(), FromSlice(8000, x), ToneOptions{LineHz: -1}, nil)
		if err != nil {
			t.Fatal(err)
		}
		sum += (r.Hz - 1000.3) * (r.Hz - 1000.3)
		stated += r.HzU / n
	}
	rms := math.Sqrt(sum / n)
	if rms > 2.5*bound || rms < 0.8*bound {
		t.Errorf("the frequency scatters by %.5f Hz, the bound is %.5f Hz", rms, bound)
	}
	within(t, "stated over true uncertainty", stated/rms, 1, 0.35)
}

// Modulation of 30, 50, 80 and 100 %: sidebands together re the carrier, and the
// audio of 80 % over that of 30 %, taken apart as lines.
func TestModulationDepthRows(t *testing.T) {
	for _, c := range []struct {
		m   float64
		row string
	}{{0.3, "sidebands at 30 %"}, {0.5, "sidebands at 50 %"}, {0.8, "sidebands at 80 %"}, {1, "sidebands at 100 %"}} {
		x := tones(testRate, 2, 0, 1, 4000, 0.4, 3000, 0.2*c.m, 5000, 0.2*c.m)
		r := analyse(t, x, ToneOptions{LineHz: -1})
		within(t, c.row, 10*math.Log10(r.Residual/r.Power), distortionRow(t, c.row), 0.006)
	}
	a := analyse(t, tones(testRate, 2, 0, 1, 1000, 0.3), ToneOptions{LineHz: -1})
	b := analyse(t, tones(testRate, 2, 0, 1, 1000, 0.8), ToneOptions{LineHz: -1})
	within(t, "audio of 80 % over 30 %", b.LevelDBFS-a.LevelDBFS, distortionRow(t, "audio of 80 % over 30 %"), 0.003)
}

// A generator that drifts by 2 Hz a minute for two minutes: the line must not
// spread into what is called noise.
func TestDriftingToneKeepsItsSINAD(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	x := make([]float64, 60*testRate)
	ph := 0.0
	for i := range x {
		s := float64(i) / testRate
		ph += 2 * math.Pi * (997 + s/30 + 0.05*math.Sin(s/3)) / testRate
		x[i] = 0.5*math.Sin(ph) + 0.005*math.Sin(2*ph+1) + 0.0001*rng.NormFloat64()
	}
	r := analyse(t, x, ToneOptions{})
	want := 10 * math.Log10(0.125/(0.0000125+1e-8*21580/24000))
	within(t, "SINAD", r.SINADConverter, want, 0.01)
	within(t, "noise", 10*math.Log10(r.Noise/(1e-8*21580/24000)), 0, 0.1)
	within(t, "THD", r.THD, 0.01, 1e-5)
	within(t, "mean frequency", r.Hz, 998, 0.01)
}

// A tone that fades by 6 dB at half a hertz is followed: slow fading is no noise.
func TestFadingToneIsNoNoise(t *testing.T) {
	x := tones(testRate, 20, 0.0005, 1, 997, 0.5)
	for i := range x {
		x[i] *= 1 + 0.33*math.Sin(2*math.Pi*0.1*float64(i)/testRate)
	}
	r := analyse(t, x, ToneOptions{})
	if r.SINADRadio < 50 || len(r.Notes) == 0 {
		t.Errorf("SINAD %.1f dB, notes %q", r.SINADRadio, r.Notes)
	}
	within(t, "mean power", r.Power, 0.125*(1+0.33*0.33/2), 0.001)
}

// Faults of the recording fall into no block.
func TestToneAcrossGaps(t *testing.T) {
	x := tones(testRate, 8, 0.001, 1, 997, 0.5, 1994, 0.01)
	for i := 100000; i < 100480; i++ {
		x[i] = 0
	}
	bad := analyse(t, x, ToneOptions{})
	good := analyse(t, x, ToneOptions{Gaps: []Gap{{Frame: 100000, Frames: 480, Why: "zeros"}}})
	want := 10 * math.Log10((0.125+0.00005+1e-6*0.9)/(0.00005+1e-6*0.9))
	within(t, "SINAD without the gap", good.SINADRadio, want, 0.05)
	if math.Abs(bad.SINADRadio-want) < 1 {
		t.Errorf("the zeros do not show: %.2f dB", bad.SINADRadio)
	}
	within(t, "frequency", good.Hz, 997, 4*good.HzU)
}

func TestToneErrors(t *testing.T) {
	stereo := &mixed{FromSlice(testRate, make([]float64, 100))}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	nan := tones(testRate, 2, 0, 1, 997, 0.5)
	nan[50000] = math.NaN()
	for name, c := range map[string]struct {
		ctx  context.Context
		src  Source
		o    ToneOptions
		says string
	}{
		"two channels": {context.Background(), stereo, ToneOptions{}, "one channel"},
		"empty":        {context.Background(), FromSlice(testRate, nil), ToneOptions{}, "too few"},
		"noise":        {context.Background(), FromSlice(testRate, tones(testRate, 3, 0.1, 2)), ToneOptions{}, "no tone stands out"},
		"silence":      {context.Background(), FromSlice(testRate, make([]float64, 48000)), ToneOptions{}, "no tone stands out"},
		"short":        {context.Background(), FromSlice(testRate, tones(testRate, 0.05, 0, 1, 100, 1)), ToneOptions{}, "periods"},
		"empty band":   {context.Background(), FromSlice(testRate, nan), ToneOptions{FromHz: 900, ToHz: 300}, "empty"},
		"not a number": {context.Background(), FromSlice(testRate, nan), ToneOptions{}, "finite"},
		"stopped":      {ctx, FromSlice(testRate, tones(testRate, 3, 0, 1, 997, 1)), ToneOptions{}, "canceled"},
	} {
		_, err := AnalyseTone(c.ctx, c.src, c.o, nil)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, expected one that says %q", name, err, c.says)
		}
		if name == "stopped" && !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

type mixed struct{ Source }

func (mixed) Channels() int { return 2 }
