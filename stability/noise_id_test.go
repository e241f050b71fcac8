package stability

import (
	"math"
	"math/rand/v2"
	"testing"
)

func adevGaussian(n int, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1065))
	w := make([]float64, n)
	for i := range w {
		w[i] = r.NormFloat64()
	}
	return w
}

// adevCumulate is the running sum, once.
func adevCumulate(w []float64) []float64 {
	out, s := make([]float64, len(w)), 0.0
	for i, v := range w {
		s += v
		out[i] = s
	}
	return out
}

// Published reference column "alpha 0" for the 1000-point set at m = 1 ... 32,
// and the values recomputed independently.
func TestNoiseOfThePublishedSet(t *testing.T) {
	p := adevPhase(t, adevLCG1000(), 1)
	f := newNoiseFinder(p, 2)
	for m := 1; m <= 32; m *= 2 {
		if got := f.at(m); got != (noiseFound{WhiteFM, NoiseLag1, m}) {
			t.Errorf("m=%d: %+v, published white frequency noise", m, got)
		}
	}
	for m, want := range map[int]float64{1: 0.054855, 10: 0.360226, 16: -0.303941} {
		alpha, ok := f.lag1(m)
		if !ok || math.Abs(alpha-want) > 1e-6 {
			t.Errorf("m=%d: alpha %.6f, expected %.6f", m, alpha, want)
		}
	}
	for m, want := range map[int]float64{1: 0.054856, 10: 0.360476} {
		y := noiseAverages(p, m)
		noiseRemoveLine(y)
		if alpha, _ := noiseExponent(y, 2); math.Abs(alpha-want) > 1e-6 {
			t.Errorf("from frequency, m=%d: alpha %.6f, expected %.6f", m, alpha, want)
		}
	}
}

func TestLag1OfThePublishedSet(t *testing.T) {
	p := adevPhase(t, adevLCG1000(), 1)
	z := noiseEvery(nil, p.segments[0], 1)
	noiseRemoveQuadratic(z)
	for i := range len(z) - 1 {
		z[i] = z[i+1] - z[i]
	}
	if r1 := noiseAutocorrelation(z[:len(z)-1]); math.Abs(r1+0.026695) > 1e-6 {
		t.Errorf("r1 = %.6f, expected -0.026695", r1)
	}
}

// The list as phase is white phase noise; its running sum as frequency is a
// random walk.
func TestNoiseOfOtherUsesOfTheSet(t *testing.T) {
	y := adevLCG1000()
	x, _ := NewPhase(y, 1)
	if alpha, _ := newNoiseFinder(x, 2).lag1(1); math.Abs(alpha-2.055975) > 1e-6 {
		t.Errorf("list as phase: alpha %.6f, expected 2.055975", alpha)
	}
	for i := range y {
		y[i] -= 0.5
	}
	walk := adevCumulate(y)
	noiseRemoveLine(walk)
	if alpha, _ := noiseExponent(walk, 2); math.Abs(alpha+1.945879) > 1e-6 {
		t.Errorf("running sum as frequency: alpha %.6f, expected -1.945879", alpha)
	}
}

// Simulated noise is recognised, whole and with a reading missing here and there.
func TestNoiseRecognised(t *testing.T) {
	w := adevGaussian(3000, 11)
	white := append([]float64(nil), w...)
	for alpha, y := range map[PowerLaw][]float64{WhiteFM: white, RandomWalkFM: adevCumulate(w)} {
		if got := newNoiseFinder(adevPhase(t, y, 1), 2).at(1); got.alpha != alpha {
			t.Errorf("%v taken for %v", alpha, got.alpha)
		}
		for i := 100; i < len(y); i += 137 {
			y[i] = math.NaN()
		}
		if got := newNoiseFinder(adevPhase(t, y, 1), 2).at(1); got.alpha != alpha || got.by != NoiseLag1 {
			t.Errorf("with gaps, %v taken for %v (%v)", alpha, got.alpha, got.by)
		}
	}
}

// With too few averages the answer says where it comes from.
func TestNoiseFallbacks(t *testing.T) {
	p := adevPhase(t, adevLCG1000(), 1)
	if got := newNoiseFinder(p, 2).at(128); got.by != NoiseCarried || got.m != 32 {
		t.Errorf("m=128: %+v, expected carried from 32", got)
	}
	if got := newNoiseFinder(adevPhase(t, adevNBS9(), 1), 2).at(2); got != (noiseFound{WhiteFM, NoiseB1, 1}) {
		t.Errorf("9 readings: %+v, expected the variance ratio at tau0", got)
	}
	if got := newNoiseFinder(adevPhase(t, []float64{1, 2, 3}, 1), 2).at(1); got.by != NoiseAssumed {
		t.Errorf("3 readings: %+v, expected white noise assumed", got)
	}
}

// Expected bias ratios by noise (SP 1065 (2008), chapter 5), at 10 readings,
// each recognised for what it is.
func TestVarianceRatio(t *testing.T) {
	for mu, want := range map[int]float64{2: 110.0 / 6, 1: 5, 0: 10 * math.Log(10) / (18 * math.Ln2), -1: 1, -2: 99.0 / 135} {
		adevWithin(t, "B1", noiseB1(10, mu), want, 1e-12)
	}
	ramp := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	if b1, _ := noiseVarianceRatio(ramp); math.Abs(b1-110.0/6) > 1e-9 {
		t.Errorf("a straight drift has B1 %g, expected N(N+1)/6", b1)
	}
	if alpha, ok := noiseByB1(ramp); !ok || alpha != -3 {
		t.Errorf("a straight drift: alpha %g", alpha)
	}
	if alpha, ok := noiseByB1([]float64{1, -1, 1, -1, 1, -1, 1, -1, 1, -1}); !ok || alpha != 2 {
		t.Errorf("alternating readings: alpha %g, expected phase noise", alpha)
	}
}
