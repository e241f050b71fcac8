package stability

import (
	"math"
	"math/rand/v2"
	"testing"

	"setwright/quantity"
)

// A warm-up read to 10 Hz and written in hertz: the staircase is neither jumps
// nor wild readings, whatever resolution the writing promises.
func TestStaircaseOfACoarseDialIsNoJump(t *testing.T) {
	for _, tau := range []float64{900, 1500, 2700} {
		ts, f := sampled(curve{limit: 5e6, amp: []float64{-1500}, tau: []float64{tau}}, 60, 10800)
		for i := range f {
			f[i] = 10 * math.Round(f[i]/10)
		}
		a := analyse(t, Record{TimeS: ts, FrequencyHz: f, ResolutionHz: 1}, Options{Fit: FitTrend, Draws: 2})
		if len(a.Jumps)+len(a.Slips) > 0 || a.ResolutionHz != 10 {
			t.Errorf("time constant %v s: resolution %v Hz, jumps %+v, set aside %+v", tau, a.ResolutionHz, a.Jumps, a.Slips)
		}
	}
}

// A random walk of half a count from reading to reading, rounded to counts: in
// most steps nothing moves, so that a median of steps sees no noise at all.
func TestRandomWalkInWholeCountsIsNoJump(t *testing.T) {
	records, wrong := 60, 0
	rng := rand.New(rand.NewPCG(7, 9))
	for range records {
		f := simNoise("random walk", 361, 30, rng)
		ts := make([]float64, len(f))
		for i := range f {
			ts[i], f[i] = 30*float64(i), math.Round(5e6+f[i]+float64(i)/24)
		}
		if len(FindJumps(ts, f, nil, nil, 1)) > 0 {
			wrong++
		}
	}
	if t.Logf("jumps in %d of %d records without any", wrong, records); wrong > 3 {
		t.Errorf("jumps in %d of %d records without any", wrong, records)
	}
}

// Ten counts at once stay a jump, however quiet the record.
func TestJumpOfTenCountsInAQuietRecord(t *testing.T) {
	var ts, f []float64
	for i := range 240 {
		ts, f = append(ts, 30*float64(i)), append(f, 5e6+math.Round(float64(i)/24))
		if i >= 150 {
			f[i] -= 10
		}
	}
	if j := FindJumps(ts, f, nil, nil, 1); len(j) != 1 || math.Abs(j[0].SizeHz+10) > 1.5 {
		t.Errorf("%+v, want one of −10 Hz", j)
	}
}

// Glances every five minutes see no more than part of the wander; two equal ones
// see none.
func TestWanderOfGlancesIsABound(t *testing.T) {
	var ts, f []float64
	for i := range 25 {
		ts, f = append(ts, 300*float64(i)), append(f, 5e6+10*float64(i%2))
	}
	if w := Wander(ts, f, 0); w.Kind != quantity.KindBound || w.Bound != quantity.MoreThan || w.Value != 10 {
		t.Errorf("%+v, want more than 10 Hz", w.Result)
	}
	if w := Wander([]float64{0, 600}, []float64{5e6, 5e6}, 0); w.Given() {
		t.Errorf("two equal glances: %+v", w.Result)
	}
}

// The place of a jump between two readings is in the interval of the time too.
func TestIntervalHoldsWhatIsNotKnownBetweenTwoReadings(t *testing.T) {
	var ts, f []float64
	for i := range 720 {
		ts, f = append(ts, 10*float64(i)), append(f, 5e6+math.Round(10*math.Sin(float64(i)))/10)
		if i >= 300 {
			f[i] += 60
		}
	}
	a := analyse(t, Record{TimeS: ts, FrequencyHz: f}, Options{BandsHz: []float64{20}})
	for _, r := range []Result{a.Settling[0].Result, a.Usable[0].Result} {
		if r.CI == nil || r.CI[0] > 2991 || r.CI[1] < 2999 {
			t.Errorf("%+v (95 %%: %v), jump between 2990 and 3000 s", r, r.CI)
		}
	}
}
