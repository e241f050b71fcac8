package stability

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
	"setwright/quantity"
)

func analyse(t interface{ Fatal(...any) }, r Record, o Options) *Analysis {
	a, err := Analyse(context.Background(), r, o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// A set whose dial slips twice while it warms up, its counter dropping a digit
// now and then: two jumps, three slips, and the settling time of the set itself.
func TestSlippingDialAndDroppedDigits(t *testing.T) {
	c := curve{limit: 7455000, amp: []float64{-1800}, tau: []float64{800}}
	ts, f := sampled(c, 10, 10800)
	rng := rand.New(rand.NewPCG(6, 28))
	for i := range f {
		f[i] += 2 * rng.NormFloat64()
		if ts[i] >= 2000 {
			f[i] += 150
		}
		if ts[i] >= 5000 {
			f[i] -= 60
		}
	}
	for _, i := range []int{100, 350, 800} {
		f[i] -= 7000000
	}
	a := analyse(t, Record{TimeS: ts, FrequencyHz: f}, Options{Fit: FitTrend})
	w, ok := a.Trend.(WarmUp)
	if !ok || len(w.Terms) != 1 || math.Abs(w.Terms[0].TauS-800) > 4*w.Terms[0].UTauS+5 {
		t.Errorf("fit with the jumps taken out: %+v after %d rounds, %v", w.Terms, a.Rounds, a.NoTrend)
	}
	if len(a.Slips) != 3 || a.Slips[1].Index != 350 {
		t.Errorf("slips %+v", a.Slips)
	}
	if len(a.Jumps) != 2 {
		t.Fatalf("jumps %+v", a.Jumps)
	}
	near(t, "first jump at", a.Jumps[0].TimeS, 1995, 0)
	near(t, "its size", a.Jumps[0].SizeHz, 150, 4*a.Jumps[0].UHz)
	near(t, "second jump at", a.Jumps[1].TimeS, 4995, 0)
	near(t, "its size", a.Jumps[1].SizeHz, -60, 4*a.Jumps[1].UHz)
	if a.Jumps[0].Index != 200 || a.Jumps[0].P > 1e-6 {
		t.Errorf("first jump %+v", a.Jumps[0])
	}
	// Within ±20 Hz only after the second slip of the dial.
	s := a.Settling[2]
	near(t, "settling time to 20 Hz", s.Value, 4995, 10)
	if s.U < 10/math.Sqrt(12) {
		t.Errorf("u = %v s, but the jump lies between two readings 10 s apart", s.U)
	}
}

// Warm-ups without a jump or a slip, fitted as a real record is: next to none is
// said to have one (1 % by the stated rates), whatever the noise.
func TestFalseAlarmsOfTheWholeAnalysis(t *testing.T) {
	runs := 12
	if testing.Short() {
		runs = 3
	}
	bad := 0
	for kind, noise := range noiseKinds {
		for k := 0; k < runs; k++ {
			ts, f := simulated(kind, noise, uint64(k), 20, 4800)
			a := analyse(t, Record{TimeS: ts, FrequencyHz: f}, Options{Fit: FitTrend, Draws: 2})
			if len(a.Jumps)+len(a.Slips) > 0 {
				bad++
				t.Logf("%s, record %d: jumps %+v, slips %+v", kind, k, a.Jumps, a.Slips)
			}
		}
	}
	if bad > 3 { // of 48 at 2 %, more than 3 has a chance of 1.5 %
		t.Errorf("false alarms in %d of %d records", bad, 4*runs)
	}
}

// Six glances at a clock and a dial give intervals and bounds.
func TestGlancesAtAClock(t *testing.T) {
	r := Record{
		TimeS:              []float64{120, 300, 600, 1200, 2400, 3600},
		FrequencyHz:        []float64{7066300, 7065900, 7065600, 7065400, 7065300, 7065300},
		FirstReadingAfterS: 120,
	}
	a := analyse(t, r, Options{BandsHz: []float64{500, 100, 20}})
	first := a.Settling[0]
	if first.Kind != quantity.KindInterval || first.Lo != 300 || first.Hi != 600 {
		t.Errorf("±500 Hz: %+v, want between 5 and 10 min", first.Result)
	}
	if second := a.Settling[1]; second.Kind != quantity.KindInterval || second.Lo != 600 || second.Hi != 1200 {
		t.Errorf("±100 Hz: %+v, want between 10 and 20 min", second.Result)
	}
	if u := a.Usable[1]; u.Kind != quantity.KindInterval || u.Lo != 300 || u.Hi != 600 {
		t.Errorf("usable to ±100 Hz: %+v, want between 5 and 10 min", u.Result)
	}
	if a.Wander.Given() || a.Wander.Reason != ReasonTooSparse {
		t.Errorf("wander from readings 20 min apart: %+v", a.Wander.Result)
	}
	near(t, "closing frequency", a.Closing.Value, 7065300, 0)
	if a.Closing.U < 20 {
		t.Errorf("closing frequency to ±%v Hz from a dial read to 100 Hz", a.Closing.U)
	}
	if a.Excursion.Kind != quantity.KindValue || a.Excursion.Value != 1000 {
		t.Errorf("excursion %+v, want 1000 Hz: the first reading is not later than 120 s", a.Excursion)
	}
	r.FirstReadingAfterS = 200
	if late := analyse(t, r, Options{}).Excursion; late.Kind != quantity.KindBound || late.Bound != quantity.MoreThan {
		t.Errorf("excursion %+v, want a bound", late)
	}
	if a.Tempco.Given() || a.Tempco.Reason != ReasonNoAmbient {
		t.Errorf("temperature coefficient %+v", a.Tempco.Result)
	}
}

// Two readings are a record.
func TestTwoReadings(t *testing.T) {
	a := analyse(t, Record{TimeS: []float64{0, 600}, FrequencyHz: []float64{7065300, 7065500}}, Options{})
	near(t, "closing frequency", a.Closing.Value, 7065400, 0)
	for _, s := range a.Settling {
		if s.Kind != quantity.KindBound || s.Value != 600 {
			t.Errorf("±%v Hz: %+v, want more than 10 min", s.BandHz, s.Result)
		}
	}
	if a.Excursion.Given() || a.Wander.Given() {
		t.Errorf("excursion %+v, wander %+v", a.Excursion, a.Wander.Result)
	}
}

func TestTheRecordMayBeCutShortOrStopped(t *testing.T) {
	ts, f := sampled(single, 30, 7200)
	r := Record{TimeS: ts, FrequencyHz: f}
	if a := analyse(t, r, Options{HorizonS: 3000}); a.HorizonS != 3000 || a.TimeS[len(a.TimeS)-1] != 3000 {
		t.Errorf("horizon %v, last reading %v", a.HorizonS, a.TimeS[len(a.TimeS)-1])
	}
	var few *TooFewReadingsError
	if _, err := Analyse(context.Background(), r, Options{HorizonS: 10}); !errors.As(err, &few) {
		t.Errorf("horizon before the second reading: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	f[3] += 1e-3 // some noise, so that there is something to draw
	if _, err := Analyse(ctx, r, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// What the figures may not depend on: the clock, the level, the sign of the
// frequency; and what always holds between them.
func TestFiguresOfARecordAndItsImages(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := curve{
			limit: 7e6,
			amp:   []float64{rapid.Float64Range(-2000, 2000).Draw(t, "a1"), rapid.Float64Range(-1000, 1000).Draw(t, "a2")},
			tau:   []float64{rapid.Float64Range(60, 300).Draw(t, "tau1"), rapid.Float64Range(600, 3000).Draw(t, "tau2")},
		}
		ts, f := sampled(c, 30, 6000)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		for i := range f {
			f[i] = math.Round(f[i] + 3*rng.NormFloat64()) // whole hertz: sums are exact
		}
		o := Options{Draws: 2}
		r := Record{TimeS: ts, FrequencyHz: f}
		a := analyse(t, r, o)
		later, higher, upside := make([]float64, len(f)), make([]float64, len(f)), make([]float64, len(f))
		for i := range f {
			later[i], higher[i], upside[i] = ts[i]+86400, f[i]+4096, -f[i]
		}
		sameFigures(t, "clock", a, analyse(t, Record{TimeS: later, FrequencyHz: f}, o), 0, 1)
		sameFigures(t, "level", a, analyse(t, Record{TimeS: ts, FrequencyHz: higher}, o), 4096, 1)
		sameFigures(t, "sign", a, analyse(t, Record{TimeS: ts, FrequencyHz: upside}, o), 0, -1)
		for _, s := range a.Settling {
			if s.FirstEntryS > s.ByLetterS+1e-9 {
				t.Fatalf("±%v Hz: first entry %v s after the last exit %v s", s.BandHz, s.FirstEntryS, s.ByLetterS)
			}
		}
		for b := 1; b < len(a.Settling); b++ { // a narrower band is not settled to sooner
			if a.Settling[b].ByLetterS < a.Settling[b-1].ByLetterS-1e-9 || a.Usable[b].ByLetterS < a.Usable[b-1].ByLetterS-1e-9 {
				t.Fatalf("narrower band sooner: %+v, %+v", a.Settling, a.Usable)
			}
		}
	})
}

// sameFigures compares two analyses; closing frequencies are mapped.
func sameFigures(t *rapid.T, what string, a, b *Analysis, offset, sign float64) {
	t.Helper()
	same := func(name string, x, y float64) {
		if math.Abs(x-y) > 1e-4 && !(math.IsNaN(x) && math.IsNaN(y)) {
			t.Fatalf("%s: %s was %v, is %v", what, name, x, y)
		}
	}
	same("closing frequency", sign*a.Closing.Value+offset, b.Closing.Value)
	same("excursion", a.Excursion.Value, b.Excursion.Value)
	same("wander", a.Wander.Value, b.Wander.Value)
	same("slips", float64(len(a.Slips)), float64(len(b.Slips)))
	same("jumps", float64(len(a.Jumps)), float64(len(b.Jumps)))
	for i := range a.Settling {
		same("settling time", a.Settling[i].Value, b.Settling[i].Value)
		same("last exit", a.Settling[i].ByLetterS, b.Settling[i].ByLetterS)
		same("usable after", a.Usable[i].Value, b.Usable[i].Value)
	}
}
