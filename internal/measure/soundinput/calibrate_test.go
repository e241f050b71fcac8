package soundinput

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

const rate = 48000

type closer struct{ signal.Source }

func (closer) Close() error { return nil }

// recorded makes a recording of samples.
func recorded(x []float64) measure.Recording {
	return measure.Recording{Recording: run.Recording{Name: "known.wav", RateHz: rate, Channels: 1, Frames: int64(len(x))},
		Open: func(context.Context) (measure.SourceCloser, error) { return closer{signal.FromSlice(rate, x)}, nil }}
}

// sound is a tone with a second harmonic in noise, as an input records it whose
// clock runs fast by a fraction.
func sound(seconds, hz, peak, second, noise, fast float64, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 3))
	x := make([]float64, int(seconds*rate))
	for i := range x {
		p := 2 * math.Pi * hz * float64(i) / (rate * (1 + fast))
		x[i] = peak*(math.Sin(p)+second*math.Sin(2*p+0.3)) + noise*r.NormFloat64()
	}
	return x
}

func value(x, u float64) quantity.Value {
	return quantity.New(x, quantity.Contribution{Source: quantity.Source{ID: "meter"}, C: u})
}

// The whole calibration of a card whose truth is known: 2 V full scale, a clock
// 50 ppm fast, a noise of 1e-5 rms over the band, distortion of 0.02 %.
func TestCardIsCalibrated(t *testing.T) {
	tone := recorded(sound(20, 1000, 0.25, 2e-4, 1e-5, 50e-6, 1))
	quiet := recorded(sound(10, 1000, 0, 0, 1e-5, 50e-6, 2))
	got, err := Calibrate(t.Context(), run.Sound{}, Given{
		Level: &Level{tone, value(0.5, 0.005)}, Rate: &Rate{Recording: tone, Hz: value(1000, 1e-4)}, Quiet: &quiet, Loop: &tone,
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	s := got.Sound
	if math.Abs(s.FullScaleV-2) > 1e-3 || math.Abs(s.FullScaleRelativeU-0.01) > 1e-4 {
		t.Errorf("full scale %g V ± %g", s.FullScaleV, s.FullScaleRelativeU)
	}
	if math.Abs(s.RateError-50e-6) > 3*s.RateErrorU || s.RateErrorU > 5e-7 || s.RateErrorU < 1e-7 {
		t.Errorf("rate error %g ± %g, want 5e-5 ± 1e-7 of the reference and a little", s.RateError, s.RateErrorU)
	}
	if want := 1e-10 / (rate / 2); math.Abs(s.FloorDensity/want-1) > 0.02 {
		t.Errorf("floor %g, want %g", s.FloorDensity, want)
	}
	if math.Abs(s.OwnDistortion/2e-4-1) > 0.05 {
		t.Errorf("own distortion %g, want 2e-4", s.OwnDistortion)
	}
	if len(got.Sentences) != 4 || !strings.Contains(s.From, "rate by a tone") {
		t.Errorf("%q from %q", got.Sentences, s.From)
	}
}

// The ticks of a standard-frequency broadcast do as well: here a card 30 ppm
// fast hears two minutes of them, 5 cycles of 1 kHz each second (invented).
func TestRateByTheTicksOfABroadcast(t *testing.T) {
	const fast = 30e-6
	r := rand.New(rand.NewPCG(9, 9))
	x := make([]float64, 130*rate)
	for i := range x {
		at := math.Mod(float64(i)/(rate*(1+fast)), 1)
		if at < 0.005 {
			x[i] = 0.3 * math.Sin(2*math.Pi*1000*at)
		}
		x[i] += 0.01 * r.NormFloat64()
	}
	got, err := Calibrate(t.Context(), run.Sound{}, Given{Rate: &Rate{Recording: recorded(x), Ticks: true}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	s := got.Sound
	if math.Abs(s.RateError-fast) > 2*s.RateErrorU || s.RateErrorU < 5e-6 || s.RateErrorU > 20e-6 || !strings.Contains(s.From, "ticks") {
		t.Errorf("%g ± %g from %q", s.RateError, s.RateErrorU, s.From)
	}
	if _, err := Calibrate(t.Context(), run.Sound{}, Given{Rate: &Rate{Recording: recorded(sound(30, 440, 0.1, 0, 0.01, 0, 2)), Ticks: true}}, nil); err == nil {
		t.Error("a tone was taken for ticks")
	}
}

// What is not calibrated anew stays as it was.
func TestOldPartsStay(t *testing.T) {
	before := run.Sound{FullScaleV: 3, FullScaleRelativeU: 0.02, OwnDistortion: 1e-4}
	tone := recorded(sound(15, 1000, 0.25, 0, 1e-4, -20e-6, 4))
	got, err := Calibrate(t.Context(), before, Given{Rate: &Rate{Recording: tone, Hz: value(1000, 0)}}, nil)
	if err != nil || got.Sound.FullScaleV != 3 || got.Sound.OwnDistortion != 1e-4 || math.Abs(got.Sound.RateError+20e-6) > 1e-7 {
		t.Errorf("%+v %v", got.Sound, err)
	}
	if len(got.Warnings) == 0 {
		t.Error("a reference without uncertainty must be warned of")
	}
}

// The truth of the sample rate lies within the stated interval about as often
// as is said.
func TestRateCoverage(t *testing.T) {
	inside := 0
	const n = 30
	for seed := range uint64(n) {
		tone := recorded(sound(12, 997, 0.2, 0, 0.02, 30e-6, 100+seed))
		got, err := Calibrate(t.Context(), run.Sound{}, Given{Rate: &Rate{Recording: tone, Hz: value(997, 0)}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Sound.RateError-30e-6) <= 2*got.Sound.RateErrorU {
			inside++
		}
	}
	if inside < 26 {
		t.Errorf("within ± 2 u in %d of %d", inside, n)
	}
}

func TestWhatDoesNotServeIsRefused(t *testing.T) {
	clipped := sound(5, 1000, 1.4, 0, 1e-4, 0, 5)
	for i := range clipped {
		clipped[i] = math.Max(-0.98, math.Min(0.98, clipped[i]))
	}
	bad := recorded(clipped)
	faint, noisy := recorded(sound(5, 1000, 1e-3, 0, 1e-6, 0, 6)), recorded(sound(5, 1000, 0.1, 0, 0.1, 0, 7))
	good := recorded(sound(12, 1000, 0.25, 0, 1e-4, 0, 8))
	zeros := recorded(make([]float64, 5*rate))
	for name, g := range map[string]Given{
		"clipped":           {Level: &Level{bad, value(1, 0.01)}},
		"dBFS":              {Level: &Level{faint, value(1, 0.01)}},
		"above noise":       {Level: &Level{noisy, value(1, 0.01)}},
		"level of 0 V":      {Level: &Level{good, value(0, 0)}},
		"no tone within":    {Rate: &Rate{Recording: good, Hz: value(2000, 0)}},
		"no recording":      {},
		"frequency of 0 Hz": {Rate: &Rate{Recording: good, Hz: value(0, 0)}},
		"nothing but zeros": {Quiet: &zeros},
	} {
		_, err := Calibrate(t.Context(), run.Sound{}, g, nil)
		var r *measure.Refusal
		if !errors.As(err, &r) || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
