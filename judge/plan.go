package judge

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Swap says how a modification goes in and out, which governs the order of runs.
type Swap string

// The ways of changing between the states a and b.
const (
	BySwitch  Swap = "switch"    // at no cost: the states can alternate from run to run
	BySolder  Swap = "soldering" // can be undone, at the price of work: a few blocks
	OneWay    Swap = "one way"   // can't be undone
	defaultBy      = BySolder
)

// PlanInput is what a plan starts from, in the figure's unit.
type PlanInput struct {
	Criterion Criterion
	Claim     *Claim // nil: to find a change of twice what matters, or that there is none

	Before  float64 // expected value before; needed for what is relative
	Scatter Spread  // run to run; DoF 0 with Assumed for a guess
	Assumed bool    // the scatter is a guess

	// Shared is the standard uncertainty of what is common to all runs of both
	// sides: it cancels and is only told. Unshared is that of the difference
	// which stays however many runs are made, such as two counters, one for
	// each side.
	Shared, Unshared float64

	NameA, NameB string // of the states
	Swap         Swap
	PerDay       int // runs that can be made in one day; 0 or 1 for starts from cold
	MaxRuns      int // largest number of runs a side worth planning; 0 for 30
}

// Plan says which runs are needed, before anyone solders.
type Plan struct {
	NameA       string   `json:"name_a"`
	NameB       string   `json:"name_b"`
	RunsPerSide int      `json:"runs_per_side"` // 0 where it can't be decided
	Cautious    int      `json:"cautious"`      // if the scatter is at the upper 80 % limit of what is known; 0 for more than MaxRuns
	Days        int      `json:"days"`          // cold mornings
	PerDay      int      `json:"per_day"`
	CanDecide   bool     `json:"can_decide"`
	Floor       float64  `json:"floor"`    // smallest amount this bench could resolve with endless runs
	Promised    float64  `json:"promised"` // size of the change looked for
	Matters     float64  `json:"matters"`
	ChanceTrue  float64  `json:"chance_true"` // of the right word if the change is as promised
	ChanceNone  float64  `json:"chance_none"` // of "no difference that matters" if there is none
	Order       []string `json:"order"`       // names of the states in the order of runs, the return to a included
	Returns     int      `json:"returns"`     // runs at the end of Order that return to a
	Basis       string   `json:"basis"`
	Sentences   []string `json:"sentences"`
}

func (p *Plan) say(format string, args ...any) {
	p.Sentences = append(p.Sentences, fmt.Sprintf(format, args...))
}

// planBasis names how the numbers of runs are found.
const planBasis = "a chance of four in five of the right word, both if the change is as promised and if there is none; runs that scatter as in the t test of two small samples"

// MakePlan works out how many runs a side are needed to decide with a chance of
// 80 %, both if the change is as promised and if there is none; how many days
// that takes; whether this bench can resolve it at all; and in which order the
// runs are best made. Errors say what is missing.
func MakePlan(in PlanInput) (Plan, error) {
	if err := in.check(); err != nil {
		return Plan{}, err
	}
	p := Plan{Basis: planBasis, PerDay: max(1, in.PerDay), NameA: named(in.NameA, "before"), NameB: named(in.NameB, "after")}
	p.Promised, p.Matters = in.promised(), in.matters()
	p.Floor = in.floor()
	p.RunsPerSide = in.runs(p.Promised, p.Matters, in.Scatter.SD)
	p.Cautious = in.runs(p.Promised, p.Matters, in.upperScatter())
	p.CanDecide = p.RunsPerSide > 0
	p.explainSize(in)
	if !p.CanDecide {
		p.explainNever(in)
		return p, nil
	}
	o := in.outlook(p.Promised, p.Matters, p.RunsPerSide, in.Scatter.SD)
	p.ChanceTrue, p.ChanceNone = in.chances(o)
	p.Order, p.Returns = order(in.swap(), p.RunsPerSide, p.NameA, p.NameB)
	p.Days = days(len(p.Order), p.PerDay)
	p.explainRuns(in)
	return p, nil
}

func named(name, fallback string) string {
	if name == "" {
		return fallback
	}
	return name
}

func days(runs, perDay int) int {
	return (runs + perDay - 1) / perDay
}

func (in PlanInput) swap() Swap {
	if in.Swap == "" {
		return defaultBy
	}
	return in.Swap
}

func (in PlanInput) maxRuns() int {
	if in.MaxRuns <= 0 {
		return defaultMax
	}
	return in.MaxRuns
}

// check says what a plan lacks.
func (in PlanInput) check() error {
	c := in.Criterion
	relative := c.Relative || (in.Claim != nil && in.Claim.Relative)
	switch {
	case !(in.Scatter.SD > 0) || !finite(in.Scatter.SD):
		return fmt.Errorf("plan for %s: run-to-run scatter is %v, expected a positive standard deviation (from repeats, or assumed)", c.Figure, in.Scatter.SD)
	case !(c.Matters > 0) || !finite(c.Matters):
		return fmt.Errorf("plan for %s: the amount that matters is %v, expected a positive number: without it no runs can show that there is no difference", c.Figure, c.Matters)
	case relative && (in.Before == 0 || !finite(in.Before)):
		return fmt.Errorf("plan for %s: the value before is %v, expected one other than zero, because an amount is given as a fraction of it", c.Figure, in.Before)
	case !finite(in.Unshared) || in.Unshared < 0 || !finite(in.Shared) || in.Shared < 0:
		return fmt.Errorf("plan for %s: an uncertainty of the instruments is negative or not a number", c.Figure)
	case in.Claim != nil && in.Claim.wrong() != "":
		return fmt.Errorf("plan for %s: %s", c.Figure, in.Claim.wrong())
	case in.swap() != BySwitch && in.swap() != BySolder && in.swap() != OneWay:
		return fmt.Errorf("plan for %s: swap is %q, expected %q, %q or %q", c.Figure, string(in.Swap), string(BySwitch), string(BySolder), string(OneWay))
	}
	return nil
}

func (in PlanInput) matters() float64 {
	if c := in.Claim; c != nil && c.Direction == Unchanged && c.Amount > 0 {
		return in.size(c.Amount, c.Relative)
	}
	return in.size(in.Criterion.Matters, in.Criterion.Relative)
}

func (in PlanInput) size(x float64, relative bool) float64 {
	if relative {
		return math.Abs(x * in.Before)
	}
	return math.Abs(x)
}

// promised is the size of the change looked for. Without a claim of a change it
// is twice what matters: a change of just what matters can't be told from one
// that is just too small, however many runs are made.
func (in PlanInput) promised() float64 {
	if c := in.Claim; c != nil && c.Direction != Unchanged && c.Amount > 0 {
		return in.size(c.Amount, c.Relative)
	}
	return 2 * in.matters()
}

// outlook is what n runs a side meet.
func (in PlanInput) outlook(promised, matters float64, n int, sd float64) outlook {
	bench := outlook{truth: promised, margin: matters, u: in.Unshared, dof: math.Inf(1)}
	v, dof := sd*sd/float64(n), math.Max(1, float64(n-1))
	return bench.with(v, dof, v, dof)
}

// chances returns the chance of the right word if the change is as promised, and
// if there is none.
func (in PlanInput) chances(o outlook) (ifTrue, ifNone float64) {
	if in.Claim != nil && in.Claim.Direction != Unchanged {
		ifTrue = o.keeps(o.truth, in.Claim.widening())
	} else {
		ifTrue = o.large()
	}
	o.truth = 0
	return ifTrue, o.within()
}

// runs returns the smallest number of runs a side (two at least) for which both
// chances reach 80 %, or 0.
func (in PlanInput) runs(promised, matters, sd float64) int {
	for n := 2; n <= in.maxRuns(); n++ {
		if a, b := in.chances(in.outlook(promised, matters, n, sd)); a >= powerAim && b >= powerAim {
			return n
		}
	}
	return 0
}

// floor is the smallest amount that matters which could be decided with endless
// runs. Equivalence is the harder half: Φ(Δ/u − z95) must reach 0.9 on either
// side, so Δ = (z95 + z90)·u.
func (in PlanInput) floor() float64 {
	z := distuv.UnitNormal.Quantile
	return (z(1-alpha) + z((1+powerAim)/2)) * in.Unshared
}

// upperScatter is the scatter's one-sided upper 80 % limit, s·√(ν/χ²(0.2; ν));
// for a guess, half as much again.
func (in PlanInput) upperScatter() float64 {
	s := in.Scatter
	switch {
	case in.Assumed && s.DoF <= 0:
		return 1.5 * s.SD
	case s.DoF <= 0:
		return s.SD
	}
	return s.SD * math.Sqrt(s.DoF/distuv.ChiSquared{K: s.DoF}.Quantile(0.2))
}

// explainSize says what is looked for and what the bench brings.
func (p *Plan) explainSize(in PlanInput) {
	unit := in.Criterion.Unit
	p.say("Looked for: a change of %s, told from one that is less than the %s that matter.", amount(p.Promised, unit), amount(p.Matters, unit))
	of := "from " + named(in.Scatter.Of, "repeats")
	if in.Assumed {
		of = "assumed, not measured: make two or three runs before anything is changed, and plan again"
	}
	p.say("Run-to-run scatter: %s; %s.", amount(in.Scatter.SD, unit), of)
	if in.Shared > 0 {
		p.say("%s of instrument error is common to both sides and cancels.", amount(in.Shared, unit))
	}
	if in.Unshared > 0 {
		p.say("%s of instrument error is not common to both sides: amounts below %s can't be decided here, however many runs are made. The same instrument, range and calibration on both sides removes it.", amount(in.Unshared, unit), amount(p.Floor, unit))
	}
}

func (p *Plan) explainNever(in PlanInput) {
	if p.Matters < p.Floor {
		p.say("This bench can't resolve it: no number of runs will decide.")
		return
	}
	p.say("More than %d runs a side would be needed: not worth beginning. Reduce the scatter (line voltage, ambient, time off before) or ask for a larger amount.", in.maxRuns())
}

func (p *Plan) explainRuns(in PlanInput) {
	p.say("%d runs on each side would decide it four times in five: %s in all.", p.RunsPerSide, number(p.Days, "day", "days"))
	switch {
	case p.Cautious == 0:
		p.say("The scatter is known so poorly that it may take more than %d.", in.maxRuns())
	case p.Cautious > p.RunsPerSide:
		p.say("If the true scatter is larger than it looks so far, it may take %d.", p.Cautious)
	}
	p.explainOrder(in)
}
