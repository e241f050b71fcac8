package stability

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The stated false-alarm rate of 1 % a record holds for noise of every
// correlation, with the smooth course known and with none taken off.
func TestFalseJumpRate(t *testing.T) {
	const runs = 200
	for kind, noise := range noiseKinds {
		for _, known := range []bool{true, false} {
			bad := 0
			for k := 0; k < runs; k++ {
				rng := rand.New(rand.NewPCG(uint64(k), 77))
				c := curve{limit: 7e6, amp: []float64{-2000, 500}, tau: []float64{900, 200}}
				ts, f := sampled(c, 15, 5400)
				for i, v := range noise(rng, len(ts), 15) {
					f[i] += 3 * v
				}
				var trend Trend
				if known {
					trend = c
				}
				if len(FindJumps(ts, f, nil, trend, 0)) > 0 {
					bad++
				}
			}
			t.Logf("%s, trend known %v: %d of %d", kind, known, bad, runs)
			if bad > 6 { // at 1 %, more than 6 of 200 has a chance of 0.5 %
				t.Errorf("%s, trend known %v: false jumps in %d of %d records", kind, known, bad, runs)
			}
		}
	}
}

// A step of six times the local standard deviation (of one reading for white
// noise, of one step for a random walk) is found, at its place.
func TestJumpOfSixSigmaIsFound(t *testing.T) {
	const runs, sigma = 100, 3.0
	for kind, noise := range noiseKinds {
		found, others := 0, 0
		for k := 0; k < runs; k++ {
			rng := rand.New(rand.NewPCG(uint64(k), 5))
			c := curve{limit: 7e6, amp: []float64{-2000}, tau: []float64{900}}
			ts, f := sampled(c, 15, 5400)
			at := 60 + rng.IntN(240)
			for i, v := range noise(rng, len(ts), 15) {
				f[i] += sigma * v
				if i >= at {
					f[i] += 6 * sigma
				}
			}
			for _, j := range FindJumps(ts, f, nil, c, 0) {
				if j.at == at && math.Abs(j.SizeHz-6*sigma) < 4*j.UHz {
					found++
				} else {
					others++
				}
			}
		}
		t.Logf("%s: found %d, elsewhere %d of %d", kind, found, others, runs)
		if found < 80 || others > 10 {
			t.Errorf("%s: jump found at its place in %d of %d records, others %d", kind, found, runs, others)
		}
	}
}

// A dial knocked while nobody was reading: the step across a gap of ten minutes
// is found, and an undisturbed gap shows none.
func TestJumpAcrossAGap(t *testing.T) {
	c := curve{limit: 7e6, amp: []float64{-2000}, tau: []float64{900}}
	for _, knock := range []float64{0, 200} {
		var ts, f []float64
		rng := rand.New(rand.NewPCG(4, 4))
		for x := 0.0; x <= 7200; x += 15 {
			if x > 3600 && x < 4200 {
				continue
			}
			v := c.At(x) + 2*rng.NormFloat64()
			if x >= 4200 {
				v += knock
			}
			ts, f = append(ts, x), append(f, v)
		}
		got := FindJumps(ts, f, Gaps(ts), c, 0)
		if knock == 0 && len(got) != 0 {
			t.Errorf("no knock: %+v", got)
		}
		if knock != 0 && (len(got) != 1 || got[0].GapS != 600 || math.Abs(got[0].SizeHz-knock) > 4*got[0].UHz) {
			t.Errorf("knock of %v Hz: %+v", knock, got)
		}
	}
}
