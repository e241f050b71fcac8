package signal

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// The ratios of settling time to time constant, measured: a step of 35 dB that a
// loop of compression ratio CR works off, E = 35 (1 − 1/CR); attack to within 3
// dB, release to within 4 dB. The detector takes 10 ms, the loop 80 ms.
func TestSettlingRows(t *testing.T) {
	const tau = 0.08
	for _, row := range publishedRows(t, "gain-control.csv") {
		if row["unit"] != "tau" || row["a"] == "" {
			continue
		}
		cr, c, want := published(t, row, "a"), published(t, row, "b"), published(t, row, "value")
		sign := 1.0
		if row["row"][0] == 'r' {
			sign = -1
		}
		e := 35 * (1 - 1/cr)
		within(t, row["row"]+", closed form", math.Log(e/c), want, 1e-4)
		x := settling(1.8, false, 1, func(s float64) float64 {
			if s < 0.5 {
				return -45
			}
			return -45 + sign*(35-e) + sign*e*math.Exp(-(s-0.5)/tau)
		})
		env := envelope(t, x, EnvelopeOptions{})
		steps := FindSteps(env, StepOptions{})
		if len(steps) != 1 {
			t.Fatalf("%s, CR %g: %d steps %+v", row["row"], cr, len(steps), steps)
		}
		r, err := FitRecovery(env, steps[0], RecoveryOptions{CriterionDB: c})
		if err != nil {
			t.Fatal(err)
		}
		within(t, row["row"], r.Seconds/tau, want, 0.02)
	}
}

// A loop whose voltage, not its level in dB, goes its way exponentially: 63 % of
// the step after tau, 90 % after 2.3026 tau. The two exponentials in dB that
// are fitted must follow it: 90 % of the way to twice the voltage is −0.446 dB.
func TestVoltageStep(t *testing.T) {
	const tau = 0.1
	x := settling(2.5, false, 1, func(s float64) float64 {
		v := 0.1
		if s >= 0.5 {
			v = 0.05 + 0.45*(1-math.Exp(-(s-0.5)/tau)) + 0.05
		}
		return 20 * math.Log10(v)
	})
	env := envelope(t, x, EnvelopeOptions{})
	// No sudden step: the moment is known, as when the carrier is keyed.
	step := StepEvent{TimeS: 0.5, TimeU: 1e-4, BeforeDB: -20, AfterDB: -20}
	for _, c := range []struct{ share, taus float64 }{{1 - 1/math.E, 1}, {0.9, 2.3026}} {
		criterion := -20 * math.Log10((0.1+0.45*c.share)/0.55)
		r, err := FitRecovery(env, step, RecoveryOptions{CriterionDB: criterion})
		if err != nil {
			t.Fatal(err)
		}
		within(t, "time", r.Seconds/tau, c.taus, 0.06)
	}
}

// The lag of the level detector itself, as printed; the fit does not see it: a
// clean step of 40 dB is settled at once, and said to be no slower than the
// window lets it be seen.
func TestDetectorLag(t *testing.T) {
	const w = 0.1
	for _, down := range []bool{false, true} {
		x := settling(2, false, 1, func(s float64) float64 {
			if (s < 1) == down {
				return -10
			}
			return -50
		})
		env := envelope(t, x, EnvelopeOptions{WindowS: w, StepS: 0.0005})
		y := levelsDB(env.Power)
		last := 0.0
		for i, s := range env.TimeS {
			if math.Abs(y[i]-y[len(y)-1]) > 3 {
				last = s
			}
		}
		want := 0.501
		if down {
			want = 0.9999
		}
		within(t, "lag of the detector", (last+w/2-1)/w, want, 0.01) // a causal window ends w/2 later
		steps := FindSteps(env, StepOptions{})
		if len(steps) != 1 {
			t.Fatalf("%d steps", len(steps))
		}
		within(t, "step", steps[0].TimeS, 1, 0.001)
		r, err := FitRecovery(env, steps[0], RecoveryOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if r.Seconds > w || r.Seconds > 0 && !(r.Bound && r.AtMost) {
			t.Errorf("down %v: a step without a way back takes %+v", down, r)
		}
	}
}

// Depth m of a sinusoidal modulation at 0.5, 1 and 4 Hz in dB, as printed, in
// clean tone and in noise, where its own fluctuation is taken off.
func TestDepthRows(t *testing.T) {
	for _, row := range publishedRows(t, "gain-control.csv") {
		if row["row"] != "peak-to-peak of modulation" && row["row"] != "rms of modulation" {
			continue
		}
		m, want := published(t, row, "a"), published(t, row, "value")
		for _, hz := range []float64{0.5, 1, 4} {
			x := settling(8, false, 1, func(s float64) float64 { return -20 + 20*math.Log10(1+m*math.Sin(2*math.Pi*hz*s)) })
			env := envelope(t, x, EnvelopeOptions{})
			if row["row"][0] == 'r' {
				_, spread := meanSpread(levelsDB(env.Power))
				within(t, row["row"], spread, want, 0.002+0.004*want) // the window takes some of it at 4 Hz
				continue
			}
			got, _ := ToneDepth(env, hz)
			within(t, row["row"], got, want, 0.01+0.003*want)
		}
	}
}

func TestDepthInNoise(t *testing.T) {
	for _, m := range []float64{0, 0.1, 0.3} {
		want := 20 * math.Log10((1+m)/(1-m))
		var sum, square moments
		for k := range uint64(8) {
			x := settling(20, true, k+1, func(s float64) float64 { return -20 + 20*math.Log10(1+m*math.Sin(2*math.Pi*s)) })
			got, u := ToneDepth(envelope(t, x, EnvelopeOptions{}), 1)
			sum.add(got)
			square.add((got - want) / u)
		}
		within(t, "swing in noise", sum.mean, want, 0.12)
		if rms := math.Sqrt(square.mean*square.mean + square.variance()); rms > 2.2 {
			t.Errorf("m %.1f: error %.1f of the stated uncertainty", m, rms)
		}
	}
}

// The fluctuation of noise in the envelope: 4.343/sqrt(BT) dB.
func TestNoiseFloorOfTheEnvelope(t *testing.T) {
	env := envelope(t, bandNoise(40*stepRate, 300, 3000), EnvelopeOptions{})
	y := levelsDB(env.Power)
	_, spread := meanSpread(y)
	want := 0.0
	for _, row := range publishedRows(t, "gain-control.csv") {
		if row["row"] == "noise floor, 2700 Hz, 10 ms" {
			want = published(t, row, "value")
		}
	}
	within(t, "noise of the envelope", spread, want, 0.03)
}

// bandNoise is white noise between two frequencies and none outside.
func bandNoise(n int, fromHz, toHz float64) []float64 {
	rng := rand.New(rand.NewPCG(4, 4))
	fft := fourier.NewFFT(n)
	c := make([]complex128, n/2+1)
	for k := range c {
		if hz := float64(k) * stepRate / float64(n); hz > fromHz && hz < toHz {
			c[k] = complex(rng.NormFloat64(), rng.NormFloat64())
		}
	}
	return fft.Sequence(nil, c)
}

// A record that ends before the level has settled gives a bound and says so.
func TestRecoveryCutShort(t *testing.T) {
	x := settling(1.4, true, 2, func(s float64) float64 {
		if s < 1 {
			return -20
		}
		return -20 - 18*math.Exp(-(s-1)/0.5)
	})
	env := envelope(t, x, EnvelopeOptions{})
	steps := FindSteps(env, StepOptions{})
	if len(steps) != 1 {
		t.Fatalf("%d steps", len(steps))
	}
	r, err := FitRecovery(env, steps[0], RecoveryOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !r.Bound || r.AtMost || r.Why == "" || r.Seconds > 0.41 {
		t.Errorf("a record cut short gives %+v", r)
	}
	if _, err := FitRecovery(env, StepEvent{TimeS: 1.39}, RecoveryOptions{}); err == nil {
		t.Error("no error for a step at the end")
	}
	if _, err := FitRecovery(&LevelTrack{}, StepEvent{}, RecoveryOptions{}); err == nil {
		t.Error("no error for an empty envelope")
	}
}

// Beat ripple of a tone that is no whole number of periods of the window moves
// no figure by more than it says.
func TestRecoveryOfABeatingTone(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	x := make([]float64, 3*stepRate)
	for i := range x {
		s := float64(i) / stepRate
		level := -20.0
		if s >= 1 {
			level = -20 - 18*math.Exp(-(s-1)/0.2)
		}
		a := math.Pow(10, level/20)
		x[i] = a * (math.Sin(2*math.Pi*231*s) + 0.2*math.Sin(2*math.Pi*293*s) + 0.01*rng.NormFloat64())
	}
	env := envelope(t, x, EnvelopeOptions{})
	r, err := FitRecovery(env, FindSteps(env, StepOptions{})[0], RecoveryOptions{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "recovery", r.Seconds, 0.2*math.Log(6), 3*r.U)
	if r.U > 0.02 {
		t.Errorf("uncertainty %.3f s", r.U)
	}
}
