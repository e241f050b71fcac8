package bfo

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

func column(role, unit string, x ...float64) run.Column {
	return run.Column{Role: role, Unit: unit, Values: x, Resolution: 1}
}

func rawOf(options map[string]string, columns ...run.Column) measure.Raw {
	return measure.Raw{RunID: "run-1", Options: options, Series: run.Series{Columns: columns}, IFHz: 612e3}
}

func analyse(t *testing.T, raw measure.Raw) measure.Analysis {
	t.Helper()
	a, err := Measurement{}.Analyse(context.Background(), raw, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func find(t *testing.T, a measure.Analysis, id string) run.Figure {
	t.Helper()
	for _, f := range a.Figures {
		if f.ID == id {
			return f
		}
	}
	t.Fatalf("no figure %s; notes %v", id, a.Notes)
	return run.Figure{}
}

// Two ends, read twice by a counter, on a set with a passband of 2.4 kHz and
// the oscillator above the signal.
func TestReachAndAdviceFromACounter(t *testing.T) {
	a := analyse(t, rawOf(map[string]string{"bandwidth": "2.4 kHz", "injection": "high"},
		column("frequency", "Hz", 609000, 615100, 609020, 615080)))
	low, high := find(t, a, "bfo_low"), find(t, a, "bfo_high")
	if low.Value.Estimate() != -2990 || high.Value.Estimate() != 3090 || low.Value.U() < 100 || low.Value.U() > 102 {
		t.Errorf("low %v, high %v", low.Value, high.Value)
	}
	// what both ends share is gone from the whole reach
	if reach := high.Value.Sub(low.Value); reach.U() > 20 {
		t.Errorf("reach %v", reach)
	}
	if f := find(t, a, "sidebands"); f.Choice != "USB, LSB, CW" || len(f.Details) != 3 || f.Details[0].Parts[0].ID != "bfo" || *f.Details[0].Parts[0].Value != 1500 {
		t.Errorf("%+v", f)
	}
	text := strings.Join(a.Sentences, " ")
	for _, want := range []string{
		"The BFO reaches from 2.99 ± 0.10 kHz below to 3.09 ± 0.10 kHz above", "USB, LSB, CW can be copied",
		"USB: set the BFO 1.5 kHz above the middle of the passband; the suppressed carrier is then 1.5 kHz below what the dial shows.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q lacks %q", text, want)
		}
	}
	if notes := strings.Join(a.Notes, "; "); !strings.Contains(notes, "nominal intermediate frequency, 612 kHz") || !strings.Contains(notes, "drift is not given") {
		t.Errorf("notes %s", notes)
	}
}

// A fixed BFO has one frequency, and the dial must do what the control cannot.
func TestFixedBFO(t *testing.T) {
	a := analyse(t, rawOf(map[string]string{"control": "fixed", "passband_low": "-1.2 kHz", "passband_high": "1.2 kHz", "injection": "high"},
		column("beat", "Hz", 1490, 1510, 1500)))
	low, high := find(t, a, "bfo_low"), find(t, a, "bfo_high")
	if low.Value.Estimate() != 1500 || high.Value.Sub(low.Value).U() != 0 {
		t.Errorf("low %v, high %v", low.Value, high.Value)
	}
	if f := find(t, a, "sidebands"); f.Choice != "USB, CW" {
		t.Errorf("%s: %v", f.Choice, a.Sentences)
	}
	if s := strings.Join(a.Sentences, " "); !strings.Contains(s, "set the dial so that the suppressed carrier is 1.5 kHz below what it shows") || !strings.Contains(s, "LSB: not copied") {
		t.Errorf("%s", s)
	}
}

// Which of the two sidebands a one-sided BFO copies cannot be said without the
// side of the oscillator.
func TestInjectionMustBeKnownWhereItMatters(t *testing.T) {
	fixed := map[string]string{"control": "fixed", "bandwidth": "2.4 kHz"}
	a := analyse(t, rawOf(fixed, column("beat", "Hz", 1500)))
	for _, f := range a.Figures {
		if f.ID == "sidebands" {
			t.Errorf("given as %s", f.Choice)
		}
	}
	if notes := strings.Join(a.Notes, "; "); !strings.Contains(notes, "LSB, CW with the oscillator below the signal, USB, CW with it above") {
		t.Errorf("notes %s", notes)
	}
	// with the whole reach it does not matter
	both := analyse(t, rawOf(map[string]string{"bandwidth": "2.4 kHz"}, column("beat", "Hz", 2500, 2600)))
	if f := find(t, both, "sidebands"); f.Choice != "USB, LSB, CW" {
		t.Errorf("%s", f.Choice)
	}
}

// Beats without signs along the control's scale pass through zero beat.
func TestUnsignedBeatsAlongTheScale(t *testing.T) {
	a := analyse(t, rawOf(nil, column("position", "1", -5, -2.5, 0, 2.5, 5), column("beat", "Hz", 3100, 1500, 40, 1600, 2900)))
	if low, high := find(t, a, "bfo_low"), find(t, a, "bfo_high"); low.Value.Estimate() != -3100 || high.Value.Estimate() != 2900 {
		t.Errorf("low %v, high %v", low.Value, high.Value)
	}
	down := analyse(t, rawOf(map[string]string{"direction": "down"}, column("position", "1", -5, -2.5, 0, 2.5, 5), column("beat", "Hz", 3100, 1500, 40, 1600, 2900)))
	if low, high := find(t, down, "bfo_low"), find(t, down, "bfo_high"); low.Value.Estimate() != -2900 || high.Value.Estimate() != 3100 {
		t.Errorf("low %v, high %v", low.Value, high.Value)
	}
}

// drifting is a BFO that drifts by 120 Hz/h, read every minute to 1 Hz.
func drifting(seed uint64) measure.Raw {
	rng := rand.New(rand.NewPCG(seed, 2))
	var t, f []float64
	for m := 0.0; m <= 30; m++ {
		t, f = append(t, 60*m), append(f, 613500+math.Round(2*m+1.5*rng.NormFloat64()))
	}
	return rawOf(map[string]string{"control": "fixed"}, column("time", "s", t...), column("frequency", "Hz", f...))
}

// The true drift lies within the stated interval in 90 to 99 of a hundred runs.
func TestCoverageOfDrift(t *testing.T) {
	n, in, u := 100, 0, 0.0
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		n = 300
	}
	for k := range n {
		f := find(t, analyse(t, drifting(uint64(k))), "bfo_drift")
		if lo, hi := f.Value.Interval(0.95); lo <= 120 && 120 <= hi {
			in++
		}
		u += f.Value.U()
	}
	if u /= float64(n); u > 2.5 { // 1.9 Hz/h by the scatter alone
		t.Errorf("stated uncertainty %.2f Hz/h on average", u)
	}
	if share := float64(in) / float64(n); share < 0.9-3*math.Sqrt(0.09/float64(n)) {
		t.Errorf("inside in %d of %d", in, n)
	}
	t.Logf("drift inside its interval in %d of %d", in, n)
}

type closing struct{ signal.Source }

func (closing) Close() error { return nil }

// beat is a recording of a tone that slides, with noise.
func beat(name, end, side string, hz, hzPerS, seconds float64) measure.Recording {
	const rate = 8000.0
	rng := rand.New(rand.NewPCG(uint64(hz), 3))
	x := make([]float64, int(rate*seconds))
	for i := range x {
		t := float64(i) / rate
		x[i] = 0.3*math.Sin(2*math.Pi*(hz*t+hzPerS*t*t/2)) + 0.01*rng.NormFloat64()
	}
	labels := map[string]string{"end": end}
	if side != "" {
		labels["side"] = side
	}
	return measure.Recording{
		Recording: run.Recording{Role: "beat", Name: name, RateHz: rate, Channels: 1, Frames: int64(len(x)), Labels: labels},
		Open:      func(context.Context) (measure.SourceCloser, error) { return closing{signal.FromSlice(rate, x)}, nil },
	}
}

// Recordings of the beat at both ends and one left running.
func TestBeatsRecorded(t *testing.T) {
	raw := rawOf(map[string]string{"bandwidth": "2.4 kHz", "injection": "low"})
	raw.Recordings = []measure.Recording{
		beat("low.wav", endLow, "", 2750, 0, 8), beat("high.wav", endHigh, "", 2250, 0, 8), beat("left.wav", endSteady, "below", 800, -0.05, 180),
	}
	a := analyse(t, raw)
	low, high, drift := find(t, a, "bfo_low"), find(t, a, "bfo_high"), find(t, a, "bfo_drift")
	if math.Abs(low.Value.Estimate()+2750) > 0.1 || math.Abs(high.Value.Estimate()-2250) > 0.1 {
		t.Errorf("low %v, high %v", low.Value, high.Value)
	}
	// the beat falls while the BFO stands below: it moves up
	if math.Abs(drift.Value.Estimate()-180) > math.Max(3*drift.Value.U(), 0.5) || drift.Value.U() > 5 {
		t.Errorf("drift %s", quantity.FormatOutcome(drift.Outcome, "Hz/h"))
	}
	if len(a.Stretches) != 3 || a.Stretches[2].Recording != 2 {
		t.Errorf("stretches %+v", a.Stretches)
	}
	if a.Plots[0].ID != "bfo" || len(a.Plots) != 2 {
		t.Errorf("plots %d", len(a.Plots))
	}
}

func TestRefusals(t *testing.T) {
	noIF := rawOf(nil, column("frequency", "Hz", 612e3))
	noIF.IFHz = 0
	for _, c := range []struct {
		name string
		raw  measure.Raw
		want string
	}{
		{"nothing", rawOf(nil), "no reading and no recording"},
		{"no column", rawOf(nil, column("time", "s", 1)), "no column of frequencies or beats"},
		{"no middle", noIF, "the middle of the passband too"},
		{"unit", rawOf(nil, column("frequency", "Hz", 612, 615)), "is the unit of the column right?"},
		{"all missing", rawOf(nil, column("frequency", "Hz", math.NaN())), "no reading"},
		{"infinite", rawOf(nil, column("beat", "Hz", math.Inf(1))), "finite"},
		{"between", rawOf(nil, column("frequency", "Hz", 609e3, 611e3, 613e3, 615e3)), "the position of each"},
		{"one edge", rawOf(map[string]string{"passband_low": "-1 kHz"}, column("beat", "Hz", 1)), "one edge"},
		{"speech", rawOf(map[string]string{"speech": "300 Hz"}, column("beat", "Hz", 1)), "speech"},
	} {
		_, err := Measurement{}.Analyse(context.Background(), c.raw, nil)
		var r *measure.Refusal
		if !errors.As(err, &r) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want a refusal that says %q", c.name, err, c.want)
		}
	}
}

// Next leads through both ends twice.
func TestNextLeadsThroughBothEnds(t *testing.T) {
	var f []float64
	for i, want := range []string{"low", "high", "low-again", "high-again", "done"} {
		raw := rawOf(nil, column("frequency", "Hz", f...))
		if s := (Measurement{}).Next(raw); s.ID != want || s.Done != (want == "done") {
			t.Errorf("after %d readings: %+v", i, s)
		}
		f = append(f, 609e3+float64(i%2)*6e3)
	}
}

// Whatever is typed, an analysis gives figures or a reason, and never panics.
func FuzzAnalyse(f *testing.F) {
	f.Add(609e3, 615e3, 1.0, 2.0, 0.0, 60.0, "")
	f.Add(-2500.0, math.NaN(), math.NaN(), 0.0, math.Inf(1), 0.0, "fixed")
	f.Fuzz(func(t *testing.T, a, b, p, q, s, u float64, control string) {
		for _, role := range []string{"frequency", "beat"} {
			for n := 0; n <= 3; n++ {
				cut := func(x ...float64) []float64 { return x[:min(n, len(x))] }
				raw := rawOf(map[string]string{"control": control, "bandwidth": fmt.Sprint(math.Abs(a) + 1), "injection": "high"},
					column(role, "Hz", cut(a, b, a)...), column("position", "1", cut(p, q, p)...), column("time", "s", cut(s, u, s)...))
				got, err := Measurement{}.Analyse(context.Background(), raw, nil)
				Measurement{}.Next(raw)
				if err == nil && len(got.Sentences) == 0 {
					t.Fatal("neither sentence nor reason")
				}
				for _, f := range got.Figures {
					if f.Kind == quantity.KindValue && math.IsNaN(f.Value.Estimate()) {
						t.Fatalf("%s is not a number", f.ID)
					}
					if _, err := json.Marshal(f); err != nil {
						t.Fatalf("%s cannot be kept: %v", f.ID, err)
					}
				}
			}
		}
	})
}
