package judge

import (
	"strings"
	"testing"
)

func thirdPlan() PlanInput {
	return PlanInput{
		Criterion: settling, Claim: &third, Before: 1200, Scatter: Spread{SD: 40, DoF: 6, Of: "seven starts from cold"},
		Shared: 25, NameA: "without", NameB: "with",
	}
}

func TestPlanBeforeAnyoneSolders(t *testing.T) {
	p, err := MakePlan(thirdPlan())
	if err != nil {
		t.Fatal(err)
	}
	if !p.CanDecide || p.Days != 2*p.RunsPerSide || p.Cautious < p.RunsPerSide {
		t.Errorf("plan %+v", p)
	}
	near(t, "promised", p.Promised, 400, 1e-9)
	if p.ChanceTrue < 0.8 || p.ChanceNone < 0.8 {
		t.Errorf("chances %v and %v", p.ChanceTrue, p.ChanceNone)
	}
	wantReason(t, p.Sentences, "25 s of instrument error is common to both sides and cancels")
	wantReason(t, p.Sentences, "Each change takes soldering")
}

// The plan's promise holds in simulation: if the claim is true it is kept in
// eight of ten, if nothing changes it is not kept in eight of ten.
func TestPlanDecidesAsPromised(t *testing.T) {
	p := must(MakePlan(thirdPlan()))
	b := newBench(51)
	n := p.RunsPerSide
	for _, row := range []struct {
		after float64
		want  ClaimWord
		aim   float64
	}{{800, Kept, p.ChanceTrue}, {1200, NotKept, p.ChanceNone}} {
		got := share(800, func() bool {
			v := JudgeClaim(b.side("a", n, 1200, 40, 0), b.side("b", n, row.after, 40, 0), third, settling, quick)
			return v.Word == row.want
		})
		t.Logf("%d runs a side, after %v: %q in %.0f %%, planned %.0f %%", n, row.after, row.want, 100*got, 100*row.aim)
		near(t, "share of the right word", got, row.aim, 0.08)
	}
}

// Two counters, one a side, with 60 s between them: nothing can be decided.
func TestPlanSaysNever(t *testing.T) {
	in := thirdPlan()
	in.Unshared = 60
	p := must(MakePlan(in))
	if p.CanDecide || p.RunsPerSide != 0 || len(p.Order) != 0 {
		t.Fatalf("plan %+v", p)
	}
	near(t, "floor", p.Floor, (1.6449+1.2816)*60, 0.01) // normal quantiles, common tables
	wantReason(t, p.Sentences, "no number of runs will decide")
	if g := p.Progress(nil, 0); g.Done || g.Next != "" {
		t.Errorf("progress %+v", g)
	}
	in.Unshared, in.Scatter.SD = 0, 400
	wantReason(t, must(MakePlan(in)).Sentences, "More than 30 runs a side")
}

// Endless runs decide just where the amount is the floor.
func TestFloorIsWherePlansEnd(t *testing.T) {
	in := thirdPlan()
	in.Unshared = 10
	in.Scatter.SD = 1e-3
	in.Criterion.Matters = 1.01 * in.floor()
	if p := must(MakePlan(in)); !p.CanDecide {
		t.Errorf("just above the floor: %+v", p)
	}
	in.Criterion.Matters = 0.99 * in.floor()
	if p := must(MakePlan(in)); p.CanDecide {
		t.Errorf("just below the floor: %+v", p)
	}
}

func TestOrderOfRuns(t *testing.T) {
	for _, row := range []struct {
		swap    Swap
		n       int
		want    string
		returns int
	}{
		{BySwitch, 2, "a b b a", 0},
		{BySwitch, 3, "a b b a b a", 0},
		{BySwitch, 4, "a b b a b a a b", 0},
		{BySolder, 2, "a b b a", 1},
		{BySolder, 5, "a a a b b b b b a a", 2},
		{OneWay, 3, "a a a b b b", 0},
	} {
		got, returns := order(row.swap, row.n, "a", "b")
		if strings.Join(got, " ") != row.want || returns != row.returns {
			t.Errorf("%s, %d runs: %v with %d returns, want %s", row.swap, row.n, got, returns, row.want)
		}
	}
}

// A steady drift of the set from day to day moves both means alike, where the
// order can do that: an even number of runs.
func TestOrderBalancesDrift(t *testing.T) {
	for _, swap := range []Swap{BySwitch, BySolder} {
		for n := 2; n <= 12; n += 2 {
			got, _ := order(swap, n, "a", "b")
			weight := 0
			for day, name := range got {
				weight += day * map[string]int{"a": -1, "b": 1}[name]
			}
			if weight != 0 {
				t.Errorf("%s, %d runs: drift of one a day shows as %d", swap, n, weight)
			}
		}
	}
}

func TestProgressKeepsCount(t *testing.T) {
	p := Plan{NameA: "without", NameB: "with", CanDecide: true, PerDay: 1, Order: []string{"without", "with", "with", "without"}}
	g := p.Progress([]string{"without", "another", "with"}, 0)
	if g.LeftA != 1 || g.LeftB != 1 || g.Next != "with" || g.DaysLeft != 2 || !g.InOrder || g.Done {
		t.Errorf("progress %+v", g)
	}
	g = p.Progress([]string{"without", "without", "with"}, 2)
	if g.InOrder || g.Next != "with" || g.DaysLeft != 1 {
		t.Errorf("out of order: %+v", g)
	}
	if g = p.Progress([]string{"without", "with", "with", "without"}, 0); !g.Done || g.Next != "" {
		t.Errorf("done: %+v", g)
	}
}

func TestPlanSaysWhatIsMissing(t *testing.T) {
	for _, row := range []struct {
		spoil func(*PlanInput)
		want  string
	}{
		{func(in *PlanInput) { in.Scatter.SD = 0 }, "run-to-run scatter is 0"},
		{func(in *PlanInput) { in.Criterion.Matters = 0 }, "amount that matters is 0"},
		{func(in *PlanInput) { in.Before = 0 }, "value before is 0"},
		{func(in *PlanInput) { in.Unshared = -1 }, "negative"},
		{func(in *PlanInput) { in.Swap = "glue" }, `"glue"`},
		{func(in *PlanInput) { in.Claim = &Claim{Direction: "up"} }, `"up"`},
	} {
		in := thirdPlan()
		row.spoil(&in)
		if _, err := MakePlan(in); err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("error %v, want one with %q", err, row.want)
		}
	}
}
