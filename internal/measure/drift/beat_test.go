package drift

import (
	"context"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// invented is a recording of a beat note that is made while it is read.
type invented struct {
	rate, seconds float64
	hz            func(t float64) float64
	noise         float64
	silent        bool
}

func (n invented) recording(capture *run.Capture) measure.Recording {
	return measure.Recording{
		Recording: run.Recording{Role: "beat", Name: "beat.wav", RateHz: n.rate, Channels: 1, Frames: int64(n.rate * n.seconds), Capture: capture,
			Started: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)},
		Open: func(context.Context) (measure.SourceCloser, error) {
			return &player{invented: n, rng: rand.New(rand.NewPCG(11, 12))}, nil
		},
	}
}

type player struct {
	invented
	rng   *rand.Rand
	frame int64
	phase float64
}

func (p *player) Rate() float64 { return p.rate }
func (p *player) Channels() int { return 1 }
func (p *player) Close() error  { return nil }

func (p *player) Read(dst []float64) (int, error) {
	for i := range dst {
		if p.frame >= int64(p.rate*p.seconds) {
			if i == 0 {
				return 0, io.EOF
			}
			return i, nil
		}
		dst[i] = p.noise * (p.rng.Float64() + p.rng.Float64() + p.rng.Float64() - 1.5) * 2
		if !p.silent {
			dst[i] += 0.2 * math.Cos(2*math.Pi*p.phase)
		}
		p.phase = math.Mod(p.phase+p.hz((float64(p.frame)+0.5)/p.rate)/p.rate, 1)
		p.frame++
	}
	return len(dst), nil
}

func beatRaw(n invented, options map[string]string, capture *run.Capture) measure.Raw {
	return measure.Raw{RunID: "beat", Options: options, Recordings: []measure.Recording{n.recording(capture)}}
}

func warming(t float64) float64 { return 900 + 400*math.Exp(-t/300) }

// One set, once with a counter on the oscillator's beat and once recorded: the
// same code gives the same figures, and the recording's name its sound input.
func TestRecordedBeatNoteGivesWhatACounterGives(t *testing.T) {
	n := invented{rate: 4000, seconds: 2700, hz: warming, noise: 0.02}
	recorded := analyse(t, beatRaw(n, map[string]string{"bands": "100 Hz, 20 Hz", "beat_sense": "rises"}, nil))
	var at, hz []float64
	for s := 0.5; s < 2700; s++ {
		at, hz = append(at, s), append(hz, warming(s))
	}
	logged := analyse(t, rawOf(at, hz, map[string]string{"bands": "100 Hz, 20 Hz", "oscillator": "set", "power_on": "0 s"}))
	for _, band := range []string{"100", "20"} {
		a, b := find(t, recorded, "settling_time", band), find(t, logged, "settling_time", band)
		want := 300 * math.Log(400/(mustFloat(band)+0.05))
		if a.Kind != quantity.KindValue || math.Abs(a.Value.Estimate()-b.Value.Estimate()) > 2 || math.Abs(a.Value.Estimate()-want) > 3 {
			t.Errorf("±%s Hz: recorded %s, logged %s, by the formula %.1f s", band, quantity.FormatOutcome(a.Outcome, "s"), quantity.FormatOutcome(b.Outcome, "s"), want)
		}
	}
	closing := find(t, recorded, "closing_frequency", "")
	if math.Abs(closing.Value.Estimate()-900.1) > 0.1 {
		t.Errorf("closing frequency %s", quantity.FormatOutcome(closing.Outcome, "Hz"))
	}
	if closing.Value.U() < 900*50e-6 || !hasSource(closing, "sample rate") {
		t.Errorf("closing frequency %s does not hold the sample rate's uncertainty: %v", quantity.FormatOutcome(closing.Outcome, "Hz"), closing.Value.Contributions())
	}
	if closing.Conditions["oscillator"] != "set" {
		t.Errorf("conditions %v", closing.Conditions)
	}
	if len(recorded.Stretches) != 1 || recorded.Stretches[0].ToS < 2690 || recorded.Stretches[0].Label != "beat note" {
		t.Errorf("stretches %+v", recorded.Stretches)
	}
}

func hasSource(f run.Figure, name string) bool {
	for _, c := range f.Value.Contributions() {
		if strings.Contains(c.Source.Name, name) {
			return true
		}
	}
	return false
}

func mustFloat(s string) float64 {
	x, err := measure.ParseNumber(s, "Hz")
	if err != nil {
		panic(err)
	}
	return x
}

// A calibrated sound input puts the frequency right and leaves little doubt.
func TestCalibratedSoundInputCorrectsTheBeat(t *testing.T) {
	n := invented{rate: 4000, seconds: 900, hz: func(float64) float64 { return 1000 }, noise: 0.02}
	raw := beatRaw(n, nil, nil)
	raw.Setup.Instruments = []run.Instrument{{ID: "card", Name: "the sound card", Reads: run.ReadsSound,
		Sound: &run.Sound{Made: time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC), RateError: 50e-6, RateErrorU: 1e-6,
			Expires: time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC)}}}
	a := analyse(t, raw)
	f := find(t, a, "closing_frequency", "")
	if math.Abs(f.Value.Estimate()-1000.05) > 0.002 || f.Value.U() > 0.002 {
		t.Errorf("closing frequency %s, want 1000.05 Hz", quantity.FormatOutcome(f.Outcome, "Hz"))
	}
	if !strings.Contains(strings.Join(a.Warnings, "; "), "ran out") {
		t.Errorf("an expired calibration is not warned of: %v", a.Warnings)
	}
}

// The note drifts down, is lost in zero beat for a while and comes up on the
// other side: the way is measured through zero.
func TestBeatNoteThroughZero(t *testing.T) {
	hz := func(s float64) float64 { return -150 + 600*math.Exp(-s/400) }
	n := invented{rate: 4000, seconds: 2700, hz: hz, noise: 0.02}
	a := analyse(t, beatRaw(n, map[string]string{"beat_sense": "falls"}, nil))
	closing := find(t, a, "closing_frequency", "")
	if math.Abs(closing.Value.Estimate()-hz(2550)) > 0.3 {
		t.Errorf("closing frequency %s, want %.2f Hz", quantity.FormatOutcome(closing.Outcome, "Hz"), hz(2550))
	}
	excursion := find(t, a, "excursion", "")
	if want := hz(60) - hz(2700); math.Abs(excursion.Value.Estimate()-want) > 3 {
		t.Errorf("excursion %s, want %.1f Hz", quantity.FormatOutcome(excursion.Outcome, "Hz"), want)
	}
	if d := find(t, a, "residual_drift", ""); d.Value.Estimate() <= 0 {
		t.Errorf("the note falls when the oscillator rises: drift %s", quantity.FormatOutcome(d.Outcome, "Hz/h"))
	}
	if !strings.Contains(strings.Join(a.Notes, "; "), "the slope goes on through zero") {
		t.Errorf("notes %v", a.Notes)
	}
	if jumps := find(t, a, "jumps", ""); quantity.FormatOutcome(jumps.Outcome, "count") != "0" {
		t.Errorf("%s jumps in a smooth drift: %v", quantity.FormatOutcome(jumps.Outcome, "count"), jumps.Details)
	}
}

// Nobody said which way the note goes: the drift is a size.
func TestBeatOfUnknownSense(t *testing.T) {
	n := invented{rate: 4000, seconds: 2700, hz: func(s float64) float64 { return 1000 - s/60 }, noise: 0.02}
	for sense, sign := range map[string]float64{"": 1, "unknown": 1, "rises": -1, "falls": 1} {
		a := analyse(t, beatRaw(n, map[string]string{"beat_sense": sense}, nil))
		f := find(t, a, "residual_drift", "")
		if x := f.Value.Estimate(); math.Abs(x-sign*60) > 0.5 {
			t.Errorf("sense %q: %g Hz/h", sense, x)
		}
	}
}

// A gap of unknown length in a capture: what follows has no time since power-on.
func TestGapOfUnknownLengthLimitsTheRecord(t *testing.T) {
	n := invented{rate: 4000, seconds: 1500, hz: warming, noise: 0.02}
	capture := &run.Capture{Gaps: []signal.Gap{{Frame: 4000 * 1000, Why: "phase jump"}}}
	a := analyse(t, beatRaw(n, nil, capture))
	f := find(t, a, "closing_frequency", "")
	if f.Conditions["horizon_s"] != "999.5" {
		t.Errorf("horizon %s, the gap lies at 1000 s", f.Conditions["horizon_s"])
	}
	if !strings.Contains(strings.Join(a.Notes, "; "), "gap of unknown length at 16 min 40 s") {
		t.Errorf("notes %v", a.Notes)
	}
	known := &run.Capture{Gaps: []signal.Gap{{Frame: 4000 * 1000, LostS: 30, Why: "late by the clock"}}}
	a = analyse(t, beatRaw(n, nil, known))
	if f := find(t, a, "closing_frequency", ""); !strings.HasPrefix(f.Conditions["horizon_s"], "1529") {
		t.Errorf("horizon %s: the 30 s that passed count", f.Conditions["horizon_s"])
	}
}

func TestNoBeatNoteIsRefused(t *testing.T) {
	n := invented{rate: 4000, seconds: 60, hz: warming, noise: 0.05, silent: true}
	_, err := Measurement{}.Analyse(t.Context(), beatRaw(n, nil, nil), nil)
	var refusal *measure.Refusal
	if !errors.As(err, &refusal) || !strings.Contains(refusal.Found, "no beat note") {
		t.Errorf("noise gave %v", err)
	}
	short := invented{rate: 4000, seconds: 5, hz: warming, noise: 0.02}
	if _, err = (Measurement{}).Analyse(t.Context(), beatRaw(short, nil, nil), nil); !errors.As(err, &refusal) || !strings.Contains(refusal.Found, "5 s of beat note") {
		t.Errorf("five seconds gave %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := (Measurement{}).Analyse(ctx, beatRaw(n, nil, nil), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
