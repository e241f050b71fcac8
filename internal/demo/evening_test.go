package demo

import (
	"io"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"setwright/internal/measure/list"
	"setwright/internal/run"
	"setwright/internal/store"
	"setwright/internal/workshop"
)

// tell makes the book of the whole story.
func tell(t *testing.T) *scenario {
	t.Helper()
	registry, err := list.Registry()
	if err != nil {
		t.Fatal(err)
	}
	book, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "book"), store.Options{Create: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { book.Close() })
	shop := workshop.New(book, registry)
	if err := Tell(t.Context(), shop, io.Discard); err != nil {
		t.Fatal(err)
	}
	return &scenario{ctx: t.Context(), shop: shop}
}

func TestEvenings(t *testing.T) {
	s := tell(t)
	t.Run("what was put in is found", func(t *testing.T) { found(t, s) })
	t.Run("what errs alike cancels", func(t *testing.T) { cancels(t, s) })
}

// found: the program finds in the recordings what was put into them, within the
// 95 % interval that it states. The generator's error is invented too: it gives
// less than it says, so that the sets seem that much deafer, and both by the
// same.
func found(t *testing.T, s *scenario) {
	for _, set := range []heardSet{
		{name: "turnstone", hearing: turnstoneHeard}, {name: "whimbrel", hearing: whimbrelHeard},
	} {
		set.runs = map[string]string{}
		for _, m := range []string{"selectivity", "sensitivity", "agc", "audio"} {
			set.runs[m] = set.name + "-" + m + "-2024-04-03"
		}
		excess := 20 * (1 - 1/set.ratio)
		for _, c := range []struct {
			measurement, id string
			truth           float64
			within          float64 // 0: the stated interval
		}{
			{"selectivity", "noise_bandwidth", set.noiseWidthHz(), 0},
			{"selectivity", "centre_offset", set.offHz, 0},
			{"sensitivity", "noise_figure", set.noiseFigureDB - generatorOffDB, 0.4}, // the common error is known here
			{"agc", "agc_attack", set.attackS * math.Log(excess/3), 0},
			{"agc", "agc_recovery", set.recoveryS * math.Log(excess/3), 0},
			{"audio", "thd", 100 * math.Hypot(set.second, set.third), 0},
			{"audio", "hum", -set.humDB, 0},
		} {
			f := s.figure(&set, c.measurement, c.id)
			if s.err != nil {
				t.Fatal(s.err)
			}
			lo, hi := f.Value.Interval(0.95)
			if c.within > 0 {
				lo, hi = f.Value.Estimate()-c.within, f.Value.Estimate()+c.within
			}
			if c.truth < lo || c.truth > hi {
				t.Errorf("%s: %s %v, between %.5g and %.5g; put in %.5g", set.name, c.id, f.Value, lo, hi, c.truth)
			}
		}
		line := lineOf(t, s.figure(&set, "audio", "hum"))
		if math.Abs(line-lineHz) > 0.01 {
			t.Errorf("%s: line frequency %.3f Hz, put in %g", set.name, line, lineHz)
		}
		for _, part := range s.figure(&set, "sensitivity", "noise_figure").Value.Contributions() {
			if strings.HasPrefix(part.Name, "level calibration") {
				t.Errorf("%s: the noise figure holds the %s, the story says it does not", set.name, part.Name)
			}
		}
	}
	note := heardSet{runs: map[string]string{"drift": "turnstone-drift-2024-04-03"}}
	if f := s.figure(&note, "drift", "time_constant"); s.err != nil || math.Abs(f.Value.Estimate()-noteFromCold.valveS) > 4*f.Value.U() {
		t.Errorf("time constant of the beat note %v, put in %g s (%v)", f.Value, noteFromCold.valveS, s.err)
	}
}

// lineOf is the line frequency that a figure of hum was taken at.
func lineOf(t *testing.T, f run.Figure) float64 {
	t.Helper()
	for _, d := range f.Details {
		if d.ID == "line_frequency" && d.Value != nil {
			return *d.Value
		}
	}
	t.Fatalf("hum does not say the line frequency: %+v", f.Details)
	return 0
}

// cancels: generator and modulation depth act on both sets and are gone from
// their difference, which is known far better than either.
func cancels(t *testing.T, s *scenario) {
	c, err := s.shop.Compare(s.ctx, "turnstone/pair-fitted-can-off", "whimbrel/regulator-in",
		workshop.CompareOptions{Measurement: "sensitivity", Figures: []string{"noise_figure"}})
	if err != nil || len(c.Rows) != 1 {
		t.Fatalf("%v, %d rows", err, len(c.Rows))
	}
	v := c.Rows[0].Verdict
	cancelled := map[string]bool{}
	for _, e := range v.Shared {
		cancelled[e.Name] = e.Cancelled()
	}
	if !cancelled["level of signal generator"] || !cancelled["modulation depth of the generator"] {
		t.Errorf("shared: %+v", v.Shared)
	}
	put := whimbrelHeard.noiseFigureDB - turnstoneHeard.noiseFigureDB
	if d := v.Difference; math.Abs(d.Estimate()-put) > 2*d.U() || d.U() > v.A.U()/4 {
		t.Errorf("difference %v, put in %g dB; side A %v", d, put, v.A)
	}
}
