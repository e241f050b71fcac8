package selectivity

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
)

// within checks a value against the truth by its own uncertainty, and that the
// uncertainty is no excuse.
func within(t *testing.T, f run.Figure, want, mostU float64) {
	t.Helper()
	if f.Kind != quantity.KindValue {
		t.Errorf("%s is %s, want a value", f.ID, quantity.FormatOutcome(f.Outcome, f.Unit))
		return
	}
	x, u := f.Value.Estimate(), f.Value.U()
	if math.Abs(x-want) > 3*u || u > mostU {
		t.Errorf("%s %s, want %g known to %g", f.ID, quantity.FormatOutcome(f.Outcome, f.Unit), want, mostU)
	}
}

// kHz is a strip of critical pairs at 455 kHz with a loaded Q of 80.
const kHz = 1000.0

// A two-stage strip: the published B6, B60 and shape factor come out of 25
// readings of a generator in steps of 0.1 dB, each off by 0.2 dB.
func TestStripOfTwoStagesByConstantOutput(t *testing.T) {
	b := bench{f: pairs(3, 1), perX: xKHz * kHz, middle: 455.3e3, noise: 0.2, seed: 3}
	a := analyse(t, rawOf(b.constantOutput(steps(b.f, 66)), map[string]string{"nominal": "455 kHz", "filter": "broad"}))
	within(t, find(t, a, "bandwidth_6", ""), 7030, 120)
	within(t, find(t, a, "bandwidth_60", ""), 25400, 500)
	within(t, find(t, a, "shape_factor", ""), 3.61, 0.08)
	within(t, find(t, a, "noise_bandwidth", ""), 1.0209*5740, 350)
	within(t, find(t, a, "centre_offset", ""), 300, 60)
	within(t, find(t, a, "skew", "60"), 0, 0.03)
	ripple := find(t, a, "ripple", "")
	if ripple.Value.Estimate() != 0 || ripple.CI == nil || ripple.CI[1] > 1 {
		t.Errorf("ripple %s", quantity.FormatOutcome(ripple.Outcome, "dB"))
	}
	if f := find(t, a, "bandwidth_6", ""); f.Conditions["method"] != methodOutput || f.Conditions["filter"] != "broad" {
		t.Errorf("conditions %v", f.Conditions)
	}
	if !strings.HasPrefix(a.Sentences[0], "The passband is 7.") {
		t.Errorf("%q", a.Sentences[0])
	}
}

// Readings that end 45 dB down give a bound, and the shape factor with it.
func TestSixtyDecibelsOutOfReachIsABound(t *testing.T) {
	b := bench{f: pairs(3, 1), perX: xKHz * kHz, middle: 455e3, noise: 0.2, seed: 4}
	a := analyse(t, rawOf(b.constantOutput(steps(b.f, 45)), nil))
	f := find(t, a, "bandwidth_60", "")
	reached := width(b.f, 45) * b.perX
	if f.Kind != quantity.KindBound || f.Bound != quantity.MoreThan || math.Abs(f.Value.Estimate()/reached-1) > 0.02 {
		t.Errorf("bandwidth at −60 dB %s, want more than %.0f Hz", quantity.FormatOutcome(f.Outcome, "Hz"), reached)
	}
	// the outlook is marked as no measured width, and comes near the published one
	outlook := f.Details[1]
	if outlook.ID != "extrapolated" || !strings.HasPrefix(outlook.Text, "not measured") || math.Abs(*outlook.Parts[0].Value/25400-1) > 0.1 {
		t.Errorf("outlook %+v", outlook)
	}
	if s := find(t, a, "shape_factor", ""); s.Kind != quantity.KindBound {
		t.Errorf("shape factor %s", quantity.FormatOutcome(s.Outcome, "1"))
	}
	within(t, find(t, a, "bandwidth_6", ""), 7030, 120)
	if notes := strings.Join(a.Notes, "; "); !strings.Contains(notes, "skew at −60 dB is not given: the readings end 4") || !strings.Contains(notes, "say the nominal frequency") {
		t.Errorf("notes %s", notes)
	}
}

// An over-coupled pair (a = 2) has a valley of 1.94 dB.
func TestValleyOfAnOverCoupledPair(t *testing.T) {
	b := bench{f: pairs(1, 2), perX: xKHz * kHz, middle: 455e3, noise: 0.1, seed: 5}
	a := analyse(t, rawOf(b.constantOutput(steps(b.f, 66)), nil))
	within(t, find(t, a, "ripple", ""), 1.94, 0.4)
}

// One hump must not be given a ripple by its reading errors.
func TestReadingErrorsAreNoRipple(t *testing.T) {
	found := 0
	for seed := range uint64(40) {
		b := bench{f: pairs(2, 1), perX: xKHz * kHz, middle: 455e3, noise: 0.3, seed: 100 + seed}
		if find(t, analyse(t, rawOf(b.constantOutput(steps(b.f, 66)), nil)), "ripple", "").Value.Estimate() > 0 {
			found++
		}
	}
	if found > 2 {
		t.Errorf("ripple found in %d of 40 curves of one hump", found)
	}
}

// crystal is a single crystal in a bridge, fs 455 kHz, C1 0.05 pF, with a
// holder capacitance left over that puts the notch notchHz above fs, behind a
// strip of two critical pairs: series arm and shunt of the bridge, the loss of
// the crystal keeping the notch finite.
func crystal(width3, notchHz float64) func(hz float64) float64 {
	strip := pairs(2, 1)
	return func(hz float64) float64 {
		// near resonance the branch goes as 1/(1 + j2Δ/B); the capacitance in
		// parallel adds a constant, which makes a zero at notchHz.
		d := 2 * hz / width3
		k := -1 / complex(1, 2*notchHz/width3)
		h := 1/complex(1, d) + complex(0, imag(k)) // the real part is what loss leaves
		return 10*math.Log10(real(h)*real(h)+imag(h)*imag(h)) + strip(hz/(xKHz*kHz))
	}
}

// The notch of a phasing control: stepped finely it has a depth; stepped
// coarsely only a bound, which must hold.
func TestNotchOfACrystalFilter(t *testing.T) {
	f := crystal(300, 1140)
	deepest, at := 0.0, 0.0
	for hz := 600.0; hz < 2000; hz++ {
		if f(hz) < deepest {
			deepest, at = f(hz), hz
		}
	}
	top := math.Inf(-1)
	for hz := -400.0; hz < 400; hz++ {
		top = math.Max(top, f(hz))
	}
	for _, c := range []struct {
		name  string
		step  float64
		bound bool
	}{{"fine", 10, false}, {"coarse", 400, true}} {
		rng := rand.New(rand.NewPCG(8, 8))
		var hz, level []float64
		read := func(x float64) {
			hz, level = append(hz, 455e3+x), append(level, math.Round(10*(-90-f(x)+0.2*rng.NormFloat64()))/10)
		}
		for x := -400.0; x <= 400; x += 50 {
			read(x)
		}
		for _, x := range []float64{-600, -900, -1500, -2500, -4000, -7000, -10000, -20000, -30000, 600, 3000, 4000, 5000, 7000, 10000, 20000, 30000} {
			read(x)
		}
		for x := at - 410; x <= at+430; x += c.step {
			read(math.Round(x))
		}
		a := analyse(t, rawOf(run.Series{Columns: []run.Column{
			{Role: "frequency", Unit: "Hz", Values: hz, Resolution: 1}, {Role: "input", Unit: "dBm", Values: level, Resolution: 0.1},
		}}, map[string]string{"nominal": "455 kHz"}))
		depth, offset := find(t, a, "notch_depth", ""), find(t, a, "notch_offset", "")
		t.Logf("%s: %s at %s, true %.2f dB at %.0f Hz", c.name, quantity.FormatOutcome(depth.Outcome, "dB"), quantity.FormatOutcome(offset.Outcome, "Hz"), top-deepest, at)
		if c.bound {
			if depth.Kind != quantity.KindBound || depth.Value.Estimate() > top-deepest || offset.Lo > at || offset.Hi < at {
				t.Errorf("coarse notch %s at %s, true %.1f dB at %.0f Hz", quantity.FormatOutcome(depth.Outcome, "dB"), quantity.FormatOutcome(offset.Outcome, "Hz"), top-deepest, at)
			}
			continue
		}
		within(t, depth, top-deepest, 2)
		within(t, offset, at, 30)
	}
}

// Outputs read with AGC on would show a passband too wide.
func TestOutputsUnderAGCAreRefused(t *testing.T) {
	s := constantInput(pairs(3, 1), 0.1)
	_, err := Measurement{}.Analyse(context.Background(), rawOf(s, map[string]string{"agc": "on"}), nil)
	var r *measure.Refusal
	if !errors.As(err, &r) || !strings.Contains(r.Error(), "wider than it is") {
		t.Errorf("error %v", err)
	}
}

// constantInput are outputs in volts of a linear detector.
func constantInput(f func(float64) float64, noise float64) run.Series {
	rng := rand.New(rand.NewPCG(9, 9))
	var offset, volts []float64
	for _, x := range steps(f, 40) {
		offset = append(offset, math.Round(x*xKHz*kHz))
		volts = append(volts, math.Pow(10, (f(x)+noise*rng.NormFloat64())/20))
	}
	return run.Series{Columns: []run.Column{
		{Role: "offset", Unit: "Hz", Values: offset, Resolution: 1}, {Role: "output", Unit: "V", Values: volts, Resolution: 0.0005},
	}}
}

func TestOutputsInVoltsAndTheDetectorsLaw(t *testing.T) {
	s := constantInput(pairs(3, 1), 0.1)
	a := analyse(t, rawOf(s, map[string]string{"agc": "off"}))
	within(t, find(t, a, "bandwidth_6", ""), 7030, 250)
	if f := find(t, a, "bandwidth_6", ""); f.Conditions["method"] != methodInput {
		t.Errorf("method %s", f.Conditions["method"])
	}
	// a square law doubles the decibels, so that half are the response
	for i, v := range s.Columns[1].Values {
		s.Columns[1].Values[i] = v * v
	}
	squared := analyse(t, rawOf(s, map[string]string{"agc": "off", "detector": "square"}))
	within(t, find(t, squared, "bandwidth_6", ""), 7030, 250)
	if len(a.Warnings) > 0 {
		t.Errorf("warnings %v", a.Warnings)
	}
	unsaid := analyse(t, rawOf(constantInput(pairs(3, 1), 0.1), nil))
	if w := strings.Join(unsaid.Warnings, "; "); !strings.Contains(w, "whether AGC was off is not said") {
		t.Errorf("warnings %q", w)
	}
}

// A gain that falls by 3 dB during the run shows at the returns to the middle
// and is taken out.
func TestGainThatMovesMeanwhile(t *testing.T) {
	b := bench{f: pairs(3, 1), perX: xKHz * kHz, middle: 455e3, noise: 0.1, seed: 12}
	xs := steps(b.f, 66)
	s := b.constantOutput(xs)
	for i := range s.Columns[1].Values {
		s.Columns[1].Values[i] += 3 * float64(i) / float64(len(xs)-1)
	}
	a := analyse(t, rawOf(s, nil))
	within(t, find(t, a, "bandwidth_6", ""), 7030, 200)
	if notes := strings.Join(a.Notes, "; "); !strings.Contains(notes, "the gain moved by −") && !strings.Contains(notes, "the gain moved by -") {
		t.Errorf("notes %s", notes)
	}
}

// A slip of the pen is pointed out, not silently taken or dropped.
func TestASlipOfThePenIsNamed(t *testing.T) {
	b := bench{f: pairs(3, 1), perX: xKHz * kHz, middle: 455e3, noise: 0.1, seed: 13}
	s := b.constantOutput(steps(b.f, 66))
	s.Columns[1].Values[3] += 10
	a := analyse(t, rawOf(s, nil))
	if w := strings.Join(a.Warnings, "; "); !strings.Contains(w, "off the curve of the others") {
		t.Errorf("warnings %q", w)
	}
}

// Figures of one generator share its error of level steps and of frequency.
func TestInstrumentsAreNamedSources(t *testing.T) {
	b := bench{f: pairs(3, 1), perX: xKHz * kHz, middle: 455e3, noise: 0.1, seed: 14}
	raw := rawOf(b.constantOutput(steps(b.f, 66)), map[string]string{"nominal": "455 kHz"})
	raw.Setup = run.Setup{Instruments: []run.Instrument{
		{ID: "generator-1", Name: "signal generator", Epoch: "2026", Reads: "input"},
		{ID: "counter-1", Name: "counter", Epoch: "2026", Reads: "frequency", Relative: 1e-5},
	}}
	a := analyse(t, raw)
	for id, want := range map[string]float64{"bandwidth_60": 0.25, "centre_offset": 4.55} {
		c := 0.0
		for _, p := range find(t, a, id, "").Value.Contributions() {
			if strings.Contains(p.Name, "counter") {
				c = p.C
			}
		}
		if math.Abs(c-want) > 0.03*want+0.01 {
			t.Errorf("%s: the counter brings %g Hz, want %g", id, c, want)
		}
	}
}

func TestRefusals(t *testing.T) {
	column := func(role, unit string, x ...float64) run.Column { return run.Column{Role: role, Unit: unit, Values: x} }
	nan := math.NaN()
	for _, c := range []struct {
		name    string
		columns []run.Column
		options map[string]string
		want    string
	}{
		{"nothing", nil, nil, "no reading and no recording"},
		{"no levels", []run.Column{column("frequency", "Hz", 1, 2, 3)}, nil, "no column of levels"},
		{"no frequencies", []run.Column{column("input", "dBm", 1, 2, 3)}, nil, "no column of frequencies"},
		{"one point", []run.Column{column("frequency", "Hz", 1), column("input", "dBm", -70)}, nil, "levels within"},
		{"all equal", []run.Column{column("frequency", "Hz", 1, 2, 3, 4, 5, 6), column("input", "dBm", -70, -70, -70, -70, -70, -70)}, nil, "levels within"},
		{"three points", []run.Column{column("frequency", "Hz", 1, 2, 3), column("input", "dBm", -60, -70, -60)}, nil, "3 frequencies"},
		{"all missing", []run.Column{column("frequency", "Hz", 1, 2), column("input", "dBm", nan, nan)}, nil, "no column of levels"},
		{"monotone", []run.Column{column("frequency", "Hz", 1, 2, 3, 4, 5, 6), column("output", "dB", 0, -10, -20, -30, -40, -50)}, nil, ""},
		{"infinite", []run.Column{column("frequency", "Hz", 1, 2), column("input", "dBm", -60, math.Inf(1))}, nil, "finite"},
		{"zero volts", []run.Column{column("frequency", "Hz", 1, 2), column("output", "V", 1, 0)}, nil, "more than zero"},
		{"wrong option", []run.Column{column("frequency", "Hz", 1), column("input", "dBm", -70)}, map[string]string{"nominal": "broad"}, "nominal"},
		{"no recording", []run.Column{column("frequency", "Hz", 1), column("input", "dBm", -70)}, map[string]string{"method": "noise"}, "no recording"},
	} {
		_, err := Measurement{}.Analyse(context.Background(), rawOf(run.Series{Columns: c.columns}, c.options), nil)
		var r *measure.Refusal
		if c.want != "" && (!errors.As(err, &r) || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: error %v, want a refusal that says %q", c.name, err, c.want)
		}
	}
}

// Reversed order and mixed order give the same figures.
func TestOrderOfReadingsDoesNotMatter(t *testing.T) {
	b := bench{f: pairs(2, 1), perX: xKHz * kHz, middle: 455e3, noise: 0.2, seed: 15}
	xs := steps(b.f, 66)[:23] // without the return, which would show gain against order
	s := b.constantOutput(xs)
	forward := find(t, analyse(t, rawOf(s, nil)), "bandwidth_6", "")
	for i, j := 0, len(xs)-1; i < j; i, j = i+1, j-1 {
		for _, c := range s.Columns {
			c.Values[i], c.Values[j] = c.Values[j], c.Values[i]
		}
	}
	if back := find(t, analyse(t, rawOf(s, nil)), "bandwidth_6", ""); back.Value.Estimate() != forward.Value.Estimate() {
		t.Errorf("forward %v, backward %v", forward.Value, back.Value)
	}
}
