package stability

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A counter's log of a warm-up with the mistakes counters make: each is found,
// with its cause, and no other reading is touched.
func TestCounterDropsADigit(t *testing.T) {
	c := curve{limit: 7455012, amp: []float64{-1500}, tau: []float64{600}}
	ts, f := sampled(c, 5, 3600)
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range f {
		f[i] = math.Round((f[i]+0.4*rng.NormFloat64())*10) / 10
	}
	planted := map[int]struct {
		value func(float64) float64
		why   SlipReason
	}{
		60:  {func(v float64) float64 { return v / 2 }, SlipHalf},
		150: {func(v float64) float64 { return v * 2 }, SlipDouble},
		151: {func(v float64) float64 { return v * 2 }, SlipDouble},
		222: {func(v float64) float64 { return v - 3000 }, SlipDigit},
		301: {func(v float64) float64 { return 700000 + math.Mod(v, 1e5) }, SlipDigitDropped}, // 7455012 read as 755012
		401: {func(v float64) float64 { return v + 100 }, SlipDigit},
		477: {func(v float64) float64 { return v / 10 }, SlipDecimal},
		560: {func(v float64) float64 { return v + 1234.5 }, SlipWild},
	}
	for i, p := range planted {
		f[i] = p.value(f[i])
	}
	got := FindSlips(Record{TimeS: ts, FrequencyHz: f})
	for _, s := range got {
		p, ok := planted[s.Index]
		if !ok {
			t.Errorf("reading %d (%v) set aside as %s, but it is good", s.Index, s.ValueHz, s.Reason)
			continue
		}
		if s.Reason != p.why {
			t.Errorf("reading %d: %s, want %s (read %v, expected %v)", s.Index, s.Reason, p.why, s.ValueHz, s.ExpectedHz)
		}
		near(t, "expected value", s.ExpectedHz, c.At(s.TimeS), 3)
		delete(planted, s.Index)
	}
	for i, p := range planted {
		t.Errorf("reading %d: %s missed", i, p.why)
	}
}

// A display that hangs for a minute while the set drifts on.
func TestStuckDisplay(t *testing.T) {
	ts, f := sampled(curve{limit: 5e6, amp: []float64{-2000}, tau: []float64{900}}, 10, 3600)
	for i := 31; i < 37; i++ {
		f[i] = f[30]
	}
	got := FindSlips(Record{TimeS: ts, FrequencyHz: f})
	if len(got) != 6 || got[0].Index != 31 || got[5].Index != 36 || got[0].Reason != SlipStuck {
		t.Fatalf("got %+v", got)
	}
}

// A dial that slips stays where it slipped to, and a steep start is no slip.
func TestStepsAndSteepStartsAreNoSlips(t *testing.T) {
	for _, h := range []float64{1, 5, 10, 30, 60} {
		c := curve{limit: 5e6, amp: []float64{800, -2000}, tau: []float64{30, 900}}
		ts, f := sampled(c, h, 3600)
		for i := range f {
			if i >= len(f)/2 {
				f[i] += 5000
			}
		}
		if got := FindSlips(Record{TimeS: ts, FrequencyHz: f}); len(got) != 0 {
			t.Errorf("readings every %v s: %+v", h, got)
		}
	}
}

// Glances at a dial: a number written down twice too small stands out, real drift doesn't.
func TestSlipAmongGlances(t *testing.T) {
	ts := []float64{120, 300, 600, 1200, 2400, 3600}
	f := []float64{7065300, 7064800, 7064100, 3531800, 7063200, 7063100}
	got := FindSlips(Record{TimeS: ts, FrequencyHz: f})
	if len(got) != 1 || got[0].Index != 3 || got[0].Reason != SlipHalf {
		t.Fatalf("got %+v", got)
	}
	beat := []float64{1000, 500, 430, 400, 390, 385} // a beat note that really halves
	if got := FindSlips(Record{TimeS: ts, FrequencyHz: beat}); len(got) != 0 {
		t.Fatalf("a drifting beat note: %+v", got)
	}
}

// The stated false-alarm rate: fewer than 1 in 100 jump-free, slip-free records
// loses a reading, whatever its noise.
func TestFalseSlipRate(t *testing.T) {
	const runs = 200
	for kind, make := range noiseKinds {
		bad := 0
		for k := 0; k < runs; k++ {
			ts, f := simulated(kind, make, uint64(k), 20, 3600)
			if len(FindSlips(Record{TimeS: ts, FrequencyHz: f})) > 0 {
				bad++
			}
		}
		t.Logf("%s: %d of %d", kind, bad, runs)
		if bad > 6 { // at 1 %, 6 or more of 200 has a chance of 1.6 %
			t.Errorf("%s: %d of %d records lose a good reading", kind, bad, runs)
		}
	}
}

// simulated is a warm-up with noise of a kind, h seconds apart.
func simulated(kind string, noise func(*rand.Rand, int, float64) []float64, seed uint64, h, end float64) (ts, f []float64) {
	rng := rand.New(rand.NewPCG(seed, uint64(len(kind))))
	c := curve{limit: 7e6, amp: []float64{-400 - 2000*rng.Float64(), 300 * rng.Float64()}, tau: []float64{600 + 900*rng.Float64(), 120 + 200*rng.Float64()}}
	ts, f = sampled(c, h, end)
	for i, v := range noise(rng, len(ts), h) {
		f[i] += 3 * v
	}
	return ts, f
}
