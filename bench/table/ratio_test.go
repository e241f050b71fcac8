package main

import (
	"math"
	"testing"
	"time"
)

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{{[]float64{3, 1, 2}, 2}, {[]float64{5}, 5}, {[]float64{4, 1, 3, 2}, 2.5}, {[]float64{9, 1, 9}, 9}} {
		if got := median(c.x); got != c.want {
			t.Errorf("median of %v is %v, want %v", c.x, got, c.want)
		}
	}
	if !math.IsNaN(median(nil)) {
		t.Error("the median of nothing is a number")
	}
	x := []float64{3, 1, 2}
	median(x)
	if x[0] != 3 {
		t.Error("median changed its argument")
	}
}

// seconds is a usage whose CPU and wall time are c and w.
func seconds(c, w float64) usage {
	return usage{cpu: time.Duration(c * 1e9), wall: time.Duration(w * 1e9)}
}

// threeRounds has middles 0.2 s of CPU for ours and 1 s for the tool; start-up 0.1 s and 0.5 s.
func threeRounds() []round {
	return []round{
		{ours: seconds(0.2, 0.1), theirs: seconds(1, 1), oursIdle: seconds(0.1, 0), theirsIdle: seconds(0.5, 0)},
		{ours: seconds(0.9, 0.9), theirs: seconds(1, 1), oursIdle: seconds(0.1, 0), theirsIdle: seconds(0.5, 0)},
		{ours: seconds(0.1, 0.1), theirs: seconds(2, 4), oursIdle: seconds(0.3, 0), theirsIdle: seconds(0.4, 0)},
	}
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-12 }

func TestRatioIsOfMiddlesAndRangeIsOfRounds(t *testing.T) {
	r := ratioOf(threeRounds(), false, cpuSeconds)
	if !near(r.middle, 0.2) || !near(r.low, 0.05) || !near(r.high, 0.9) {
		t.Errorf("CPU ratio %+v, want 0.2 from 0.05 to 0.9", r)
	}
	if r := ratioOf(threeRounds(), false, wallSeconds); !near(r.middle, 0.1) || !near(r.low, 0.025) {
		t.Errorf("wall ratio %+v, want 0.1 from 0.025", r)
	}
}

func TestNetRatioTakesStartUpOff(t *testing.T) {
	r := ratioOf(threeRounds(), true, cpuSeconds)
	if !near(r.middle, 0.2) || !near(r.low, 0) || !near(r.high, 1.6) {
		t.Errorf("net CPU ratio %+v, want (0.2-0.1)/(1-0.5) = 0.2 from 0 to 1.6", r)
	}
}

func TestNoRatioWhereTheToolDidNothing(t *testing.T) {
	same := []round{{ours: seconds(1, 1), theirs: seconds(0.5, 1), theirsIdle: seconds(0.5, 1)}}
	r := ratioOf(same, true, cpuSeconds)
	if !math.IsNaN(r.middle) || met(r, 1) != "cannot tell" || digits(r.middle) != "?" {
		t.Errorf("ratio %+v, judged %q", r, met(r, 1))
	}
}

func TestMetSaysWhereRoundsDisagree(t *testing.T) {
	for _, c := range []struct {
		r    ratio
		want string
	}{
		{ratio{0.15, 0.10, 0.15}, "yes"},
		{ratio{0.12, 0.10, 0.18}, "yes, not in every round"},
		{ratio{0.18, 0.12, 0.20}, "NO, but in some round"},
		{ratio{0.18, 0.16, 0.20}, "NO"},
	} {
		if got := met(c.r, 0.15); got != c.want {
			t.Errorf("%+v against 0.15: %q, want %q", c.r, got, c.want)
		}
	}
}

func TestMiddlePeaks(t *testing.T) {
	rounds := []round{{ours: usage{peak: 9}, theirs: usage{peak: 60}}, {ours: usage{peak: 12}, theirs: usage{peak: 50}}, {ours: usage{peak: 10}, theirs: usage{peak: 55}}}
	if o, th := middlePeak(rounds, false), middlePeak(rounds, true); o != 10 || th != 55 {
		t.Errorf("middle peaks %v and %v, want 10 and 55", o, th)
	}
}
