package drift

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// steady is a simulated record of a frequency that only scatters by 1 Hz.
func steady(hz, everyS, endS float64) (t, f []float64) {
	rng := rand.New(rand.NewPCG(5, 6))
	for x := 0.0; x <= endS; x += everyS {
		t, f = append(t, x), append(f, hz+math.Round(10*rng.NormFloat64())/10)
	}
	return t, f
}

func absent(t *testing.T, a measure.Analysis, id, why string) {
	t.Helper()
	for _, f := range a.Figures {
		if f.ID == id {
			t.Errorf("%s is given as %s", id, quantity.FormatOutcome(f.Outcome, f.Unit))
		}
	}
	if notes := strings.Join(a.Notes, "; "); !strings.Contains(notes, why) {
		t.Errorf("no note says %q: %s", why, notes)
	}
}

// A record that begins settled: the time lies between power-on, known to 2 s,
// and the first reading. It is no "0.0 ± 2.0 s".
func TestSettledFromTheFirstReadingIsAnInterval(t *testing.T) {
	s, hz := steady(5e6, 10, 7200)
	a := analyse(t, rawOf(s, hz, nil))
	for _, id := range []string{"settling_time", "usable_after"} {
		if got := quantity.FormatOutcome(find(t, a, id, "20").Outcome, "s"); got != "between 0 and 4 s" {
			t.Errorf("%s %s", id, got)
		}
	}
	if !strings.Contains(a.Sentences[0], "from the first reading on, and moved less than") {
		t.Errorf("%q", a.Sentences[0])
	}
	if notes := strings.Join(a.Notes, "; "); !strings.Contains(notes, "moment of power-on is not stated") {
		t.Errorf("notes %s", notes)
	}
}

// The interval of a time holds all its sources, not the noise alone.
func TestIntervalOfATimeHoldsTheMomentOfPowerOn(t *testing.T) {
	timeS, hz := curve(t, "single_plus_noise_Hz")
	f := find(t, analyse(t, rawOf(timeS, hz, map[string]string{"power_on_u": "60 s", "bands": "200 Hz"})), "settling_time", "200")
	x := f.Value.Estimate()
	if f.CI == nil || f.CI[0] > x-117 || f.CI[1] < x+117 {
		t.Errorf("%.0f s (95 %%: %v), power-on known to 60 s", x, f.CI)
	}
}

// Twenty minutes of a set that runs away by a kilohertz an hour hold no settled
// part, so there is no residual drift.
func TestNoResidualDriftWithoutASettledPart(t *testing.T) {
	s, hz := steady(5e6, 10, 1200)
	for i, x := range s {
		hz[i] -= 1500 * math.Exp(-x/1500)
	}
	absent(t, analyse(t, rawOf(s, hz, nil)), "residual_drift", "settles to none of the bands")
}

// A beat note without a nominal frequency stays in hertz: white noise of 1 Hz
// has a deviation of 1 Hz at the spacing of the readings.
func TestBeatNoteStaysInHertz(t *testing.T) {
	s, hz := steady(1500, 10, 7200)
	a := analyse(t, rawOf(s, hz, map[string]string{"oscillator": "set", "allan": "overlapping, time"}))
	f := find(t, a, "allan_deviation", "")
	if f.Unit != "Hz" || math.Abs(f.Value.Estimate()-1) > 0.1 {
		t.Errorf("%s, want about 1 Hz", quantity.FormatOutcome(f.Outcome, f.Unit))
	}
	absent(t, a, "time_deviation", "no fractional frequency")
	with := find(t, analyse(t, rawOf(s, hz, map[string]string{"oscillator": "set", "nominal": "5 MHz"})), "allan_deviation", "")
	if with.Unit != "1" || math.Abs(with.Value.Estimate()*5e6/f.Value.Estimate()-1) > 1e-9 {
		t.Errorf("with a nominal %s", quantity.FormatOutcome(with.Outcome, with.Unit))
	}
}

// A display that steps by 10 Hz is no better for being typed to a hertz.
func TestStepOfTheDisplayIsTheResolution(t *testing.T) {
	raw := rawOf([]float64{60, 120, 180}, []float64{5e6, 5e6 + 10, 5e6 + 10}, nil)
	raw.Series.Columns[1].Resolution = 1
	raw.Setup.Instruments = []run.Instrument{{ID: "counter-1", Name: "counter", Reads: "frequency", Resolution: 10}}
	if u := find(t, analyse(t, raw), "closing_frequency", "").Value.U(); u < quantity.RectangularU(10) {
		t.Errorf("u = %g Hz from a display in steps of 10 Hz", u)
	}
}

// The scale of the thermometer is a source of the temperature coefficient.
func TestThermometerIsASource(t *testing.T) {
	var s, hz, room []float64
	rng := rand.New(rand.NewPCG(8, 9))
	warm := 20.0
	for x := 0.0; x <= 18000; x += 20 {
		now := 20.0
		if x > 7200 {
			now = 28
		}
		warm += (now - warm) * 20 / 500
		s, room, hz = append(s, x), append(room, now), append(hz, 5e6-1500*math.Exp(-x/700)-60*(warm-20)+rng.NormFloat64())
	}
	raw := rawOf(s, hz, map[string]string{"nominal": "5 MHz"})
	raw.Series.Columns = append(raw.Series.Columns, run.Column{Role: "ambient", Unit: "°C", Values: room})
	raw.Setup.Instruments = []run.Instrument{{ID: "glass", Name: "glass thermometer", Reads: "ambient", Relative: 0.02}}
	f := find(t, analyse(t, raw), "tempco", "")
	if math.Abs(f.Value.Estimate()+12e-6) > 0.5e-6 {
		t.Errorf("tempco %s, want −12 ppm/K", quantity.FormatOutcome(f.Outcome, f.Unit))
	}
	for _, c := range f.Value.Contributions() {
		if c.ID == "instrument/glass//ambient" && math.Abs(c.C) > 0.2e-6 {
			return
		}
	}
	t.Errorf("the thermometer is not among the sources: %+v", f.Value.Contributions())
}

// What is said of a reading set aside and of a jump can be followed at a bench.
func TestWordsOfSlipsAndJumps(t *testing.T) {
	s, hz := steady(5e6, 10, 7200)
	hz[100] *= 2
	for i := range hz {
		if i >= 400 {
			hz[i] += 80
		}
	}
	a := analyse(t, rawOf(s, hz, nil))
	if len(a.SetAside) != 1 || !strings.HasPrefix(a.SetAside[0].Reason, "double count: by its neighbours about 5") || strings.Contains(a.SetAside[0].Reason, "e+") {
		t.Errorf("set aside %+v", a.SetAside)
	}
	if !strings.Contains(a.Sentences[1], "bad joint") {
		t.Errorf("%q", a.Sentences[1])
	}
	for i := range hz { // the same in a band of a kilohertz
		if i >= 400 {
			hz[i] -= 20
		}
	}
	if a := analyse(t, rawOf(s, hz, map[string]string{"bands": "1 kHz"})); !strings.Contains(a.Sentences[1], "too small to matter in ±1 kHz") {
		t.Errorf("%q", a.Sentences[1])
	}
}
