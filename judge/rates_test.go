package judge

import (
	"testing"

	"setwright/quantity"
)

// tries is how many comparisons each rate rests on. A rate of 5 % then has a
// standard deviation of 0.49 %, and ceiling is 5 % with three of them: a rate
// that is truly 5 % passes, one of 8 % does not.
const (
	tries   = 2000
	ceiling = 0.065
)

var quick = Options{NoNeeded: true}

// settling is the criterion of most tests here: smaller is better, one standard
// deviation of the usual run-to-run scatter matters.
var settling = Criterion{Figure: "settling_time", Unit: "s", Better: Smaller, Matters: 60, Why: "a minute is noticed"}

func rateOf(t *testing.T, what string, got, most float64) {
	t.Helper()
	if got > most {
		t.Errorf("%s: wrong in %.1f %% of cases, at most %.1f %% are allowed", what, 100*got, 100*most)
	}
}

// Where there is no difference, "better" and "worse" (with or without
// "perhaps") may come in 5 % of comparisons, whatever the spreads and numbers.
func TestNoDifferenceIsSeldomCalledOne(t *testing.T) {
	b := newBench(11)
	b.noise, b.counter = 20, 40
	for _, k := range []struct {
		na, nb int
		sa, sb float64
	}{{2, 2, 60, 60}, {3, 3, 60, 60}, {3, 3, 20, 100}, {2, 8, 100, 30}, {3, 6, 100, 50}, {5, 5, 10, 100}, {8, 8, 60, 60}} {
		c := settling
		c.Matters = 0
		got := share(tries, func() bool {
			off := b.rng.NormFloat64()
			v := Compare(b.side("a", k.na, 1200, k.sa, off), b.side("b", k.nb, 1200, k.sb, off), c, quick)
			return v.Word != CannotTell
		})
		t.Logf("%+v: %.2f %%", k, 100*got)
		rateOf(t, "a difference where there is none", got, ceiling)
	}
}

// Where the true difference is just what matters, "no difference that matters"
// may come in 5 % of comparisons.
func TestWhatMattersIsSeldomCalledNothing(t *testing.T) {
	b := newBench(12)
	b.noise, b.counter = 10, 40
	for _, k := range []struct {
		na, nb int
		sa, sb float64
	}{{3, 3, 20, 20}, {3, 3, 8, 32}, {2, 8, 30, 10}, {5, 5, 30, 30}, {12, 12, 40, 40}} {
		got := share(tries, func() bool {
			off := b.rng.NormFloat64()
			v := Compare(b.side("a", k.na, 1200, k.sa, off), b.side("b", k.nb, 1260, k.sb, off), settling, quick)
			return v.Word == NoDifference
		})
		t.Logf("%+v: %.2f %%", k, 100*got)
		rateOf(t, "nothing where it matters", got, ceiling)
	}
}

// Where the true difference is just what matters, a firm "better" or "worse" may
// come in 5 % of comparisons (2.5 % on the side it lies).
func TestJustWhatMattersIsSeldomCalledMore(t *testing.T) {
	b := newBench(13)
	got := share(tries, func() bool {
		v := Compare(b.side("a", 6, 1200, 20, 0), b.side("b", 6, 1140, 20, 0), settling, quick)
		return v.Word == Better || v.Word == Worse
	})
	rateOf(t, "more than it is", got, 0.035)
}

// Counters of unlike error on the two sides: what they don't share is part of
// the difference, and is not mistaken for one.
func TestUnlikeCountersAreNotADifference(t *testing.T) {
	b := newBench(14)
	got := share(tries, func() bool {
		x := Side{Name: "a"}
		y := Side{Name: "b"}
		offX, offY := 30*b.rng.NormFloat64(), 30*b.rng.NormFloat64()
		for range 5 {
			x.Observations = append(x.Observations, withCounter("counter-1", 1000+offX+10*b.rng.NormFloat64(), 30))
			y.Observations = append(y.Observations, withCounter("counter-2", 1000+offY+10*b.rng.NormFloat64(), 30))
		}
		return Compare(x, y, Criterion{Better: Smaller}, quick).Word != CannotTell
	})
	rateOf(t, "a counter's error taken for a difference", got, ceiling)
}

func withCounter(counter string, x, u float64) Observation {
	v := quantity.New(x, quantity.Contribution{Source: counterSource(counter), C: u})
	return Observation{Outcome: quantity.Known(v)}
}

// One run a side with scatter known from repeats on the same set.
func TestSingleRunsWithKnownScatter(t *testing.T) {
	b := newBench(15)
	b.noise, b.counter = 20, 50
	got := share(tries, func() bool {
		var groups [][]quantity.Value
		for range 2 {
			groups = append(groups, values(b.side("earlier", 4, 1500, 60, 0)))
		}
		sd, dof := PoolScatter(groups)
		o := quick
		o.KnownScatter = &Spread{SD: sd, DoF: dof}
		off := b.rng.NormFloat64()
		c := settling
		c.Matters = 0
		return Compare(b.side("a", 1, 1200, 60, off), b.side("b", 1, 1200, 60, off), c, o).Word != CannotTell
	})
	rateOf(t, "single runs", got, ceiling)
}

// Known scatter that was worked out from the very runs of one side.
func TestKnownScatterFromTheRunsThemselves(t *testing.T) {
	b := newBench(16)
	c := settling
	c.Matters = 0
	got := share(tries, func() bool {
		x := b.side("a", 3, 1200, 60, 0)
		sd, dof := PoolScatter([][]quantity.Value{values(x)})
		o := quick
		o.KnownScatter = &Spread{SD: sd, DoF: dof}
		return Compare(x, b.side("b", 1, 1200, 60, 0), c, o).Word != CannotTell
	})
	rateOf(t, "scatter used twice", got, ceiling)
}

// Repeats made apart are pooled with the runs' own scatter; the check whether
// these scatter more costs little.
func TestKnownScatterPooled(t *testing.T) {
	b := newBench(17)
	c := settling
	c.Matters = 0
	for _, own := range []float64{60, 120} {
		got := share(tries, func() bool {
			sd, dof := PoolScatter([][]quantity.Value{values(b.side("earlier", 7, 1500, 60, 0))})
			o := quick
			o.KnownScatter = &Spread{SD: sd, DoF: dof, Apart: true}
			return Compare(b.side("a", 3, 1200, 60, 0), b.side("b", 3, 1200, own, 0), c, o).Word != CannotTell
		})
		t.Logf("own scatter %v: %.2f %%", own, 100*got)
		rateOf(t, "pooled scatter", got, ceiling)
	}
}

func values(s Side) []quantity.Value {
	var out []quantity.Value
	for _, o := range s.Observations {
		out = append(out, o.Outcome.Value)
	}
	return out
}

// Eight figures without any difference, judged together: one wrong word among
// them may come in 5 % of cases. Alone it would be one in three.
func TestFamilyErrorIsHeld(t *testing.T) {
	b := newBench(18)
	c := settling
	c.Matters = 0
	together, alone := 0, 0
	const n = 600
	for range n {
		var qs []Question
		single := false
		for range 8 {
			q := Question{A: b.side("a", 6, 0, 1, 0), B: b.side("b", 6, 0, 1, 0), Criterion: c, Options: quick}
			qs = append(qs, q)
			single = single || Compare(q.A, q.B, q.Criterion, q.Options).Word != CannotTell
		}
		any := false
		for _, v := range CompareAll(qs) {
			any = any || v.Word != CannotTell
		}
		if any {
			together++
		}
		if single {
			alone++
		}
	}
	rateOf(t, "a wrong word among eight", float64(together)/n, 0.078) // 5 % and three deviations at 600
	if float64(alone)/n < 0.2 {
		t.Errorf("alone %d of %d: the test would not notice a family not held", alone, n)
	}
}

// Counts of one rate on both sides.
func TestEqualCountsAreSeldomCalledDifferent(t *testing.T) {
	b := newBench(19)
	got := share(tries, func() bool {
		x, y := Side{Name: "a"}, Side{Name: "b"}
		for range 4 {
			x.Observations = append(x.Observations, Observation{Outcome: quantity.Counted(b.poisson(2))})
			y.Observations = append(y.Observations, Observation{Outcome: quantity.Counted(b.poisson(2))})
		}
		return Compare(x, y, Criterion{Figure: "jumps", Better: Smaller}, quick).Word != CannotTell
	})
	rateOf(t, "counts of one rate", got, ceiling)
}

// Intervals of sparse readings: where there is no difference, none is shown.
func TestSparseReadingsAreSeldomCalledDifferent(t *testing.T) {
	b := newBench(20)
	c := settling
	c.Matters = 0
	got := share(400, func() bool {
		return Compare(b.coarse("a", 3, 1200, 60, 300), b.coarse("b", 3, 1200, 60, 300), c, quick).Word != CannotTell
	})
	rateOf(t, "intervals", got, 0.05)
}

// Records that end too soon: a run that has not settled by then is a bound.
// Where there is no difference, none is shown.
func TestRecordsThatEndAreSeldomCalledDifferent(t *testing.T) {
	b := newBench(21)
	c := settling
	c.Matters = 0
	for _, horizon := range []float64{1150, 1230, 1290} {
		got := share(tries, func() bool {
			x, y := b.side("a", 4, 1200, 60, 0), b.side("b", 4, 1200, 60, 0)
			return Compare(ended(x, horizon), ended(y, horizon), c, quick).Word != CannotTell
		})
		t.Logf("records end at %v: %.2f %%", horizon, 100*got)
		rateOf(t, "records that end", got, ceiling)
	}
}

func ended(s Side, horizon float64) Side {
	for i, o := range s.Observations {
		if o.Outcome.Value.Estimate() > horizon {
			s.Observations[i].Outcome = quantity.Above(quantity.Exact(horizon))
		}
	}
	return s
}

// coarse makes runs known only between two readings that lie step apart.
func (b *bench) coarse(name string, n int, mean, scatter, step float64) Side {
	s := Side{Name: name}
	for range n {
		x := mean + scatter*b.rng.NormFloat64()
		lo := x - step*b.rng.Float64()
		s.Observations = append(s.Observations, Observation{Outcome: quantity.Between(lo, lo+step)})
	}
	return s
}

// poisson draws a count with a given mean, by counting arrivals.
func (b *bench) poisson(mean float64) int {
	n := 0
	for t := b.rng.ExpFloat64(); t < mean; t += b.rng.ExpFloat64() {
		n++
	}
	return n
}
