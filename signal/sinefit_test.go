package signal_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"setwright/signal"
)

// toneIn returns n samples of a sine in white noise.
func toneIn(rng *rand.Rand, n int, rate, hz, amplitude, phase, noise float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = amplitude*math.Cos(2*math.Pi*hz*float64(i)/rate+phase) + noise*rng.NormFloat64()
	}
	return x
}

// The row "Sine frequency bound": fs 8000, N 8000, A 1, sigma 0.5 gives
// 0.00436 Hz (see testdata/SOURCES.md), by the fit's own uncertainty and by
// the spread of 300 fits.
func TestSineFrequencyBound(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 57))
	var sq, u float64
	const runs = 300
	for range runs {
		x := toneIn(rng, 8000, 8000, 1234.567, 1, rng.Float64()*6, 0.5)
		f, err := signal.FitSine4(x, 8000, 1235.3)
		if err != nil {
			t.Fatal(err)
		}
		sq += (f.Hz - 1234.567) * (f.Hz - 1234.567) / runs
		u += f.HzU / runs
	}
	if math.Abs(u-0.00436) > 0.00005 {
		t.Errorf("mean uncertainty %.5f Hz, published bound 0.00436 Hz", u)
	}
	if s := math.Sqrt(sq); s < 0.0038 || s > 0.0049 {
		t.Errorf("300 fits scatter by %.5f Hz about the truth, bound 0.00436 Hz", s)
	}
}

// Without noise every constant comes back.
func TestSineFitExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.Float64Range(8000, 192000).Draw(t, "rate")
		n := rapid.IntRange(500, 5000).Draw(t, "n")
		cycles := rapid.Float64Range(4, float64(n)/2-4).Draw(t, "cycles")
		hz := cycles * rate / float64(n)
		phase := rapid.Float64Range(-3, 3).Draw(t, "phase")
		dc := rapid.Float64Range(-0.5, 0.5).Draw(t, "dc")
		x := toneIn(nil2(), n, rate, hz, 0.25, phase, 0)
		for i := range x {
			x[i] += dc
		}
		guess := hz + rapid.Float64Range(-1.5, 1.5).Draw(t, "off")*rate/float64(n)
		f, err := signal.FitSine4(x, rate, guess)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Hz-hz) > 1e-7*hz || math.Abs(f.Amplitude-0.25) > 1e-6 || math.Abs(f.DC-dc) > 1e-6 ||
			math.Abs(math.Remainder(f.Phase-phase, 2*math.Pi)) > 1e-5 {
			t.Fatalf("fit %+v of %g Hz, phase %g, dc %g", f, hz, phase, dc)
		}
		g := signal.FitSine3(x, rate, hz)
		if math.Abs(g.Amplitude-0.25) > 1e-9 || math.Abs(g.DC-dc) > 1e-9 || g.HzU != 0 {
			t.Fatalf("fit of known frequency: %+v", g)
		}
	})
}

func nil2() *rand.Rand { return rand.New(rand.NewPCG(0, 0)) }

// A set's noise is not white: where it is 20 dB denser round the note than
// elsewhere, the bound by the whole residual would be far too small.
func TestSineFitColouredNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	inside, runs := 0, 200
	for range runs {
		x := toneIn(rng, 16000, 16000, 800, 0.3, 1, 0.02)
		addPeakedNoise(rng, x, 16000, 800, 120, 0.05)
		f, err := signal.FitSine4(x, 16000, 800.2)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Hz-800) < 1.96*f.HzU {
			inside++
		}
	}
	if share := float64(inside) / float64(runs); share < 0.90 || share > 0.99 {
		t.Errorf("the truth lies within the 95 %% interval in %.1f %%", 100*share)
	}
}

// addPeakedNoise adds noise through a resonance of the given width.
func addPeakedNoise(rng *rand.Rand, x []float64, rate, hz, width, rms float64) {
	r := math.Exp(-math.Pi * width / rate)
	a1, a2 := 2*r*math.Cos(2*math.Pi*hz/rate), -r*r
	y := make([]float64, len(x))
	var y1, y2, sum float64
	for i := range y {
		v := rng.NormFloat64() + a1*y1 + a2*y2
		y[i], y1, y2 = v, v, y1
		sum += v * v
	}
	g := rms / math.Sqrt(sum/float64(len(y)))
	for i := range x {
		x[i] += g * y[i]
	}
}

func TestSineFitRefuses(t *testing.T) {
	if _, err := signal.FitSine4([]float64{1, 2}, 8000, 100); err == nil {
		t.Error("two samples give no sine")
	}
	if _, err := signal.FitSine4(make([]float64, 100), 8000, 5000); err == nil {
		t.Error("above half the rate there is no frequency")
	}
	if _, err := signal.FitSine4([]float64{1, 2, math.NaN(), 4, 5, 6, 7, 8, 9}, 8000, 1000); err == nil {
		t.Error("NaN is no sample")
	}
	if f := signal.FitSine3(nil, 8000, 1000); f.N != 0 || !math.IsNaN(f.Amplitude) {
		t.Errorf("nothing gives %+v", f)
	}
}
