package judge_test

import (
	"fmt"
	"strings"

	"setwright/judge"
	"setwright/quantity"
)

// Settling times of an invented set, from cold, on four mornings before and
// four after a regulator was fitted, all by one counter.
func ExampleCompare() {
	criterion := judge.Criterion{
		Figure: "settling_time", Unit: "s", Better: judge.Smaller,
		Matters: 120, Why: "two minutes more or less change nothing for the listener",
	}
	v := judge.Compare(
		side("before", 2380, 2250, 2410, 2330),
		side("after", 1490, 1560, 1450, 1530),
		criterion, judge.Options{})
	fmt.Println(v.Word)
	for _, r := range v.Reasons {
		fmt.Println(r)
	}
	// Output:
	// better
	// after is 13.9 min shorter than before (95 %: −15.8 min to −12.1 min): certainly by more than 2 min.
	// Run-to-run scatter, from these runs: 69.9 s (before) and 47.9 s (after).
	// Common to both sides, and gone from the difference: time base of the counter.
	// What matters is 2 min: two minutes more or less change nothing for the listener.
	// No more runs are needed.
}

// A promise of a third, judged on the same runs.
func ExampleJudgeClaim() {
	criterion := judge.Criterion{Figure: "settling_time", Unit: "s", Better: judge.Smaller, Matters: 120}
	claim := judge.Claim{Figure: "settling_time", Direction: judge.Smaller, Amount: 1.0 / 3, Relative: true}
	v := judge.JudgeClaim(
		side("before", 2380, 2250, 2410, 2330),
		side("after", 1490, 1560, 1450, 1530),
		claim, criterion, judge.Options{})
	fmt.Println(v.Word)
	fmt.Println(v.Reasons[len(v.Reasons)-1])
	// Output:
	// kept
	// Promised: shorter by a third (13 min). That much is certain, or what is missing is too little to matter.
}

// What is needed before anyone solders.
func ExampleMakePlan() {
	claim := judge.Claim{Figure: "settling_time", Direction: judge.Smaller, Amount: 1.0 / 3, Relative: true}
	p, err := judge.MakePlan(judge.PlanInput{
		Criterion: judge.Criterion{Figure: "settling_time", Unit: "s", Better: judge.Smaller, Matters: 120},
		Claim:     &claim,
		Before:    2340,
		Scatter:   judge.Spread{SD: 60, DoF: 7},
		NameA:     "as found", NameB: "regulator",
		Swap: judge.BySolder,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range p.Sentences {
		fmt.Println(s)
	}
	fmt.Println(strings.Join(p.Order, ", "))
	fmt.Println(p.Progress([]string{"as found", "as found", "as found", "regulator"}, 0).Sentence)
	// Output:
	// Looked for: a change of 13 min, told from one that is less than the 2 min that matter.
	// Run-to-run scatter: 60 s; from repeats.
	// 6 runs on each side would decide it four times in five: 12 days in all.
	// If the true scatter is larger than it looks so far, it may take 9.
	// Each change takes soldering, so the runs are made in blocks. Undo it for the last 3 runs: what the set does by itself in those weeks then falls on both sides alike, and a shift by the soldering itself shows.
	// One start from cold a day.
	// as found, as found, as found, regulator, regulator, regulator, regulator, regulator, regulator, as found, as found, as found
	// Made: 3 of 6 runs of as found, 1 of 6 of regulator. Next: regulator.
}

func side(name string, xs ...float64) judge.Side {
	s := judge.Side{Name: name}
	counter := quantity.SourceKey{Kind: quantity.FromInstrument, Of: "counter", Quantity: "frequency"}
	for i, x := range xs {
		run := fmt.Sprintf("%s-%d", name, i+1)
		v := quantity.New(x,
			quantity.Contribution{Source: quantity.RunSource(run, "noise").Source("noise of "+run, 0), C: 15},
			quantity.Contribution{Source: counter.Source("time base of the counter", 0), C: 4})
		s.Observations = append(s.Observations, judge.Observation{Run: run, Outcome: quantity.Known(v)})
	}
	return s
}
