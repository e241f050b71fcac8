package judge

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"setwright/quantity"
)

const minute = 60.0

// outcomes makes a side of outcomes.
func outcomes(name string, os ...quantity.Outcome) Side {
	s := Side{Name: name}
	for i, o := range os {
		s.Observations = append(s.Observations, Observation{Run: fmt.Sprintf("%s-%d", name, i+1), Outcome: o})
	}
	return s
}

func moreThan(min float64) quantity.Outcome { return quantity.Above(quantity.Exact(min * minute)) }
func took(min float64) quantity.Outcome     { return quantity.Known(quantity.Exact(min * minute)) }
func between(lo, hi float64) quantity.Outcome {
	return quantity.Between(lo*minute, hi*minute)
}

func wantWord(t *testing.T, v Verdict, want Word) {
	t.Helper()
	if v.Word != want {
		t.Errorf("%s against %s: %q, want %q\n%s", v.NameB, v.NameA, v.Word, want, strings.Join(v.Reasons, "\n"))
	}
}

func wantReason(t *testing.T, reasons []string, part string) {
	t.Helper()
	if !strings.Contains(strings.Join(reasons, "\n"), part) {
		t.Errorf("no reason says %q:\n%s", part, strings.Join(reasons, "\n"))
	}
}

// One evening with the regulator, one without, and the uncertainty that a single
// run can tell of: no verdict, whatever the figures.
func TestOneRunASideCannotTell(t *testing.T) {
	a, b := Side{Name: "before"}, Side{Name: "after"}
	a.Observations = []Observation{observed("1", 2400, 20, 5)}
	b.Observations = []Observation{observed("2", 1200, 20, 5)}
	v := Compare(a, b, settling, Options{})
	wantWord(t, v, CannotTell)
	wantReason(t, v.Reasons, "scatter from run to run is not known")
	if v.Tested || v.CI95 != nil || !v.Needed.AtLeast || v.Needed.MoreA != 1 || v.Needed.MoreB != 1 {
		t.Errorf("tested %v, interval %v, needed %+v", v.Tested, v.CI95, v.Needed)
	}
	// the set's own repeats from another year settle it
	v = Compare(a, b, settling, Options{KnownScatter: &Spread{SD: 90, DoF: 5, Of: "six starts in spring"}})
	wantWord(t, v, Better)
	wantReason(t, v.Reasons, "known repeats (six starts in spring)")
	near(t, "u", v.Difference.U(), 90*math.Sqrt2, 1e-9) // the runs' own noise is in it, the counter cancels
	near(t, "degrees of freedom", v.DoF, 5, 1e-9)
}

// What a run's noise is worth shows in the scatter and is not added again; the
// counter's error is common and cancels; the budget names what is left.
func TestNoiseIsNotCountedTwice(t *testing.T) {
	a, b := Side{Name: "before"}, Side{Name: "after"}
	for i, x := range []float64{1000, 1060, 940, 1010} {
		a.Observations = append(a.Observations, observed(fmt.Sprint("a", i), x, 30, 200))
		b.Observations = append(b.Observations, observed(fmt.Sprint("b", i), x-500, 30, 200))
	}
	v := Compare(a, b, settling, Options{})
	s := math.Sqrt(variance([]float64{1000, 1060, 940, 1010}))
	near(t, "u", v.Difference.U(), s*math.Sqrt(2.0/4), 1e-9)
	if gone := v.Cancelled(); len(gone) != 1 || gone[0].Name != "time base of counter-1" {
		t.Errorf("cancelled: %+v", gone)
	}
	if len(v.Budget) != 2 || !strings.HasPrefix(v.Budget[0].Name, "run to run, ") {
		t.Errorf("budget %+v", v.Budget)
	}
	near(t, "u of a mean", v.A.U(), math.Hypot(s/2, 200), 1e-9)
}

// Runs that agree by luck to a second when each is known to half a minute.
func TestLuckyAgreementIsNotCertainty(t *testing.T) {
	a, b := Side{Name: "before"}, Side{Name: "after"}
	for i := range 3 {
		a.Observations = append(a.Observations, observed(fmt.Sprint("a", i), 1000, 30, 0))
		b.Observations = append(b.Observations, observed(fmt.Sprint("b", i), 995, 30, 0))
	}
	c := settling
	c.Matters = 40
	v := Compare(a, b, c, Options{})
	if !v.ScatterA.Raised || v.ScatterA.SD != 30 {
		t.Errorf("scatter %+v, want raised to 30", v.ScatterA)
	}
	wantWord(t, v, CannotTell)
	wantReason(t, v.Reasons, "agree better than their own noise allows")
	c.Matters = 0
	v = Compare(plain("before", 10, 10, 10), plain("after", 9, 9, 9), c, Options{})
	wantWord(t, v, CannotTell)
	wantReason(t, v.Reasons, "coarser than their scatter")
}

// Bounds and intervals: "more than 120 min" against "20 ± 1 min" is a verdict,
// two bounds the same way are none.
func TestBoundsAndIntervals(t *testing.T) {
	known := Options{KnownScatter: &Spread{SD: 2 * minute, DoF: 8}}
	after := outcomes("after", took(20), took(21), took(19))
	for _, row := range []struct {
		name string
		a, b Side
		opt  Options
		want Word
	}{
		{"not settled in two hours, three times", outcomes("before", moreThan(120), moreThan(120), moreThan(110)), after, Options{}, Better},
		{"one run each, scatter known", outcomes("before", moreThan(120)), outcomes("after", took(20)), known, Better},
		{"one run each, scatter not known", outcomes("before", moreThan(120)), outcomes("after", took(20)), Options{}, CannotTell},
		{"some runs settled", outcomes("before", moreThan(120), took(90), moreThan(100)), after, Options{}, Better},
		{"both not settled", outcomes("before", moreThan(38), moreThan(38)), outcomes("after", moreThan(60), moreThan(60)), known, CannotTell},
		{"after may be anything longer", outcomes("before", took(50), took(52), took(51)), outcomes("after", moreThan(40), moreThan(40)), Options{}, CannotTell},
		{"less than against more than", outcomes("before", moreThan(60), moreThan(60)), outcomes("after", quantity.Below(quantity.Exact(10*minute)), quantity.Below(quantity.Exact(12*minute))), known, Better},
		{"the limit is only just longer", outcomes("before", moreThan(20.9)), outcomes("after", took(20)), Options{KnownScatter: &Spread{SD: 6, DoF: 20}}, BetterPerhaps},
		{"glances at a clock, far apart", outcomes("before", between(40, 60), between(40, 60), between(45, 60)), outcomes("after", between(10, 12), between(10, 12), between(10, 12)), Options{}, Better},
		{"glances that overlap", outcomes("before", between(20, 40), between(20, 40)), outcomes("after", between(20, 30), between(20, 30)), known, CannotTell},
	} {
		t.Run(row.name, func(t *testing.T) { wantWord(t, Compare(row.a, row.b, settling, row.opt), row.want) })
	}
}

// The difference of a bound is itself a bound, and says so.
func TestDifferenceOfABoundIsABound(t *testing.T) {
	v := Compare(outcomes("before", moreThan(120), moreThan(120)), outcomes("after", took(20), took(21)), settling, Options{})
	d := v.DifferenceForm
	if d.Kind != quantity.KindBound || d.Bound != quantity.LessThan {
		t.Fatalf("difference %+v", d)
	}
	near(t, "limit", d.Value.Estimate(), -99.5*minute, 1e-9)
	wantReason(t, v.Reasons, "after is at least 99.5 min shorter")
	if v.CI95 != nil || v.AForm.Kind != quantity.KindBound {
		t.Errorf("interval %v, a %v", v.CI95, v.AForm.Kind)
	}
	two := Compare(outcomes("before", moreThan(38)), outcomes("after", moreThan(60)), settling, Options{})
	if !two.Needed.Never {
		t.Errorf("two bounds the same way need longer records, not runs: %+v", two.Needed)
	}
}

// Many runs known only as intervals are judged by limits instead of corners.
func TestManyIntervals(t *testing.T) {
	a, b := Side{Name: "before"}, Side{Name: "after"}
	for i := range 8 {
		w := float64(i % 3)
		a.Observations = append(a.Observations, Observation{Outcome: between(40+w, 44+w)})
		b.Observations = append(b.Observations, Observation{Outcome: between(20+w, 24+w)})
	}
	wantWord(t, Compare(a, b, settling, quick), Better)
	wantWord(t, Compare(a, a, settling, quick), CannotTell)
}

// A real difference that is certainly too small to matter is none that matters.
func TestEquivalenceWinsOverSignificance(t *testing.T) {
	v := Compare(plain("a", 1000, 1002, 998, 1001), plain("b", 1010, 1012, 1009, 1011), settling, Options{})
	if v.P > 0.01 {
		t.Fatalf("p = %v: this example should be significant", v.P)
	}
	wantWord(t, v, NoDifference)
}

func TestChoices(t *testing.T) {
	high, low := quantity.Chosen("high side"), quantity.Chosen("low side")
	c := Criterion{Figure: "injection"}
	wantWord(t, Compare(outcomes("a", high), outcomes("b", high, high), c, Options{}), NoDifference)
	v := Compare(outcomes("a", high), outcomes("b", low), c, Options{})
	wantWord(t, v, Different)
	wantReason(t, v.Reasons, "high side on a, low side on b")
	wantWord(t, Compare(outcomes("a", high, low), outcomes("b", low), c, Options{}), CannotTell)
}

// A bad joint: jumps before and after it was remade.
func TestJumpsAreComparedAsCounts(t *testing.T) {
	n := func(name string, ks ...int) Side {
		s := Side{Name: name}
		for _, k := range ks {
			s.Observations = append(s.Observations, Observation{Outcome: quantity.Counted(k)})
		}
		return s
	}
	c := Criterion{Figure: "jumps", Better: Smaller, Matters: 1}
	wantWord(t, Compare(n("before", 6, 4, 7), n("after", 0, 0, 1), c, Options{}), Better)
	wantWord(t, Compare(n("before", 1, 0, 1), n("after", 0, 0, 1), c, Options{}), CannotTell)
	wantWord(t, Compare(n("before", 0, 0, 0, 0, 0, 0), n("after", 0, 0, 0, 0, 0, 0), c, Options{}), NoDifference)
	wantWord(t, Compare(n("before", 9), n("after", 0), c, Options{}), CannotTell)
	v := Compare(n("before", 0, 30, 1, 0), n("after", 0, 1, 0, 0), c, Options{})
	wantWord(t, v, CannotTell)
	wantReason(t, v.Reasons, "vary more from run to run than chance")
}

// One morning in five the mains were low. It is named, not dropped, and the
// verdict without it stands beside.
func TestARunThatStandsApartIsNamed(t *testing.T) {
	a := plain("before", 1200, 1210, 1190, 1205, 1195)
	b := plain("after", 1000, 1010, 990, 1005, 1900)
	b.Observations[4].Label = "Tuesday"
	v := Compare(a, b, settling, Options{})
	if len(v.Apart) != 1 || v.Apart[0].Label != "Tuesday" || v.NB != 5 {
		t.Fatalf("apart %+v of %d runs", v.Apart, v.NB)
	}
	near(t, "the others", v.Apart[0].Others, 1001.25, 1e-9)
	wantWord(t, v, CannotTell)
	if v.Without == nil || v.Without.Word != Better {
		t.Errorf("without it: %+v, want better", v.Without)
	}
	wantReason(t, v.Reasons, "Tuesday stands apart")
	if w := Compare(plain("a", 1, 1, 1.1), plain("b", 1, 1.05, 90), settling, quick); len(w.Apart) != 0 {
		t.Errorf("among three runs none can be said to stand apart: %+v", w.Apart)
	}
}

// Mornings differ more than the states do: alternated runs show it in pairs.
func TestPairsOfOneMorning(t *testing.T) {
	a, b := Side{Name: "in"}, Side{Name: "out"}
	for i, morning := range []float64{900, 1500, 1200, 1800} {
		day := fmt.Sprintf("day %d", i)
		x, y := observed(fmt.Sprint("a", i), morning, 5, 0), observed(fmt.Sprint("b", i), morning-100+float64(3*i), 5, 0)
		x.Day, y.Day = day, day
		a.Observations, b.Observations = append(a.Observations, x), append(b.Observations, y)
	}
	wantWord(t, Compare(a, b, settling, Options{}), CannotTell)
	v := Compare(a, b, settling, Options{PairByDay: true})
	wantWord(t, v, Better)
	if !v.Paired || v.Pairs != 4 {
		t.Errorf("paired %v, %d pairs", v.Paired, v.Pairs)
	}
	near(t, "degrees of freedom", v.DoF, 3, 1e-9)
	wantWord(t, Compare(a, b, settling, Options{PairByDay: true, Unpaired: true}), CannotTell)
}

// How many more runs: after that many, with truth as it looked, the verdict
// comes in about the promised share of cases.
func TestRunsNeededDecide(t *testing.T) {
	b := newBench(31)
	c := settling
	for _, d := range []float64{0, 80, 150} {
		first := Compare(plain("a", 1150, 1250, 1200), plain("b", 1150-d, 1250-d, 1200-d), c, Options{})
		if first.Word != CannotTell && first.Word != BetterPerhaps {
			t.Fatalf("difference %v is decided at once: %q", d, first.Word)
		}
		n := 3 + first.Needed.MoreA
		got := share(600, func() bool {
			v := Compare(b.side("a", n, 1200, 50, 0), b.side("b", n, 1200-d, 50, 0), c, quick)
			return v.Word != CannotTell && (first.Word == CannotTell || v.Word.Firm())
		})
		t.Logf("difference %v: %q, %d more, decides in %.0f %%", d, first.Word, first.Needed.MoreA, 100*got)
		if first.Needed.Never || got < 0.74 || got > 0.95 {
			t.Errorf("difference %v: %d more runs decide in %.0f %% of cases, %+v", d, first.Needed.MoreA, 100*got, first.Needed)
		}
	}
}

// A difference of exactly what matters is never told from one just below.
func TestRunsNeededAreCapped(t *testing.T) {
	c := settling
	c.Matters = 100
	v := Compare(plain("a", 1180, 1220, 1200), plain("b", 1080, 1120, 1100), c, Options{})
	if v.Word != BetterPerhaps || !v.Needed.Never {
		t.Fatalf("%q, %+v", v.Word, v.Needed)
	}
	wantReason(t, v.Reasons, "this bench will not decide it")
}

// Several figures together: one that just passes alone does not among five.
func TestFamilyIsStricter(t *testing.T) {
	c := settling
	c.Matters = 0
	q := Question{A: plain("a", 1200, 1250, 1230, 1180), B: plain("b", 1150, 1120, 1190, 1160), Criterion: c}
	same := Question{A: plain("a", 1, 2, 3, 4), B: plain("b", 2, 1, 4, 3), Criterion: c}
	alone := Compare(q.A, q.B, c, Options{})
	wantWord(t, alone, Better)
	vs := CompareAll([]Question{q, same, same, same, same})
	wantWord(t, vs[0], CannotTell)
	if vs[0].Adjusted == nil || vs[0].Adjusted.Of != 5 || vs[0].Needed.Decided {
		t.Errorf("adjusted %+v, needed %+v", vs[0].Adjusted, vs[0].Needed)
	}
	near(t, "adjusted p", vs[0].Adjusted.P, 5*alone.P, 1e-12)
}

// A word that turns among other figures takes its sentences with it: what was
// said of the figure alone and no longer holds is not left standing beside it.
func TestTurnedWordContradictsNothing(t *testing.T) {
	c := settling
	c.Matters = 0
	q := Question{A: plain("a", 1200, 1250, 1230, 1180), B: plain("b", 1150, 1120, 1190, 1160), Criterion: c}
	same := Question{A: plain("a", 1, 2, 3, 4), B: plain("b", 2, 1, 4, 3), Criterion: c}
	v := CompareAll([]Question{q, same, same, same, same})[0]
	wantWord(t, v, CannotTell)
	wantReason(t, v.Reasons, "neither a difference nor its absence is shown")
	wantReason(t, v.Reasons, "95 %, taken alone") // which leaves zero out
	wantReason(t, v.Reasons, v.Needed.Sentence)
	for _, r := range v.Reasons {
		if strings.Contains(r, "No more runs") || strings.Contains(r, "certainly") {
			t.Errorf("%q is said, yet the verdict is %q and %q", r, v.Word, v.Needed.Sentence)
		}
	}
}

// One record a side with jumps in it says what is needed, as other figures do.
func TestJumpsOfSingleRecordsSayWhatIsNeeded(t *testing.T) {
	v := Compare(outcomes("a", quantity.Counted(0)), outcomes("b", quantity.Counted(3)), Criterion{Figure: "jumps", Unit: "count", Better: Smaller, Matters: 1}, Options{})
	wantWord(t, v, CannotTell)
	wantReason(t, v.Reasons, "at least 1 more run on each side")
}

// Nothing a book can hold makes it fall over, and what comes out is JSON.
func TestOddInput(t *testing.T) {
	nan := quantity.Known(quantity.Exact(math.NaN()))
	for _, s := range []Side{{}, outcomes("x", nan), outcomes("x", quantity.Outcome{}), outcomes("x", quantity.Chosen("high"), took(1)),
		outcomes("x", took(1), nan, between(3, 2), quantity.Outcome{Kind: quantity.KindBound}), outcomes("x", quantity.Counted(3), took(2))} {
		for _, other := range []Side{{}, plain("x", 1, 2), outcomes("y", moreThan(3), quantity.Below(quantity.Exact(9)))} {
			for _, c := range []Criterion{settling, {Matters: math.NaN()}, {Matters: math.Inf(1), Relative: true}} {
				v := Compare(s, other, c, Options{})
				if len(v.Reasons) == 0 {
					t.Errorf("no reason given for %+v against %+v", s, other)
				}
				if _, err := json.Marshal(v); err != nil {
					t.Errorf("%+v: %v", v, err)
				}
				JudgeClaim(s, other, Claim{Direction: Smaller, Amount: 0.3, Relative: true}, c, Options{})
			}
		}
	}
}

// A side that did not settle within its records differs by a bound; where the runs
// scatter too much for a word, the sentence does not sound like one.
func TestABoundThatProvesNothingSaysSo(t *testing.T) {
	v := Compare(outcomes("before", took(110), moreThan(60), took(150)), outcomes("after", took(20), took(150), took(90)), settling, Options{})
	if v.Word != CannotTell || v.DifferenceForm.Kind != quantity.KindBound {
		t.Fatalf("%q, %+v", v.Word, v.DifferenceForm)
	}
	wantReason(t, v.Reasons, "as it looks: the runs scatter too much to be sure of any difference")
}
