package workshop

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/judge"
	"setwright/quantity"
)

// PlanReport is a plan of runs for one claim, with the count so far.
type PlanReport struct {
	Modification receiver.Modification
	Claim        receiver.Claim
	Options      PlanOptions // what the plan counts on
	Spec         measure.FigureSpec
	Before       string // name of the configuration without the modification
	After        string // with it; a proposal where it is not in the book yet
	Plan         judge.Plan
	Progress     judge.Progress
	Made         []string // names of the states of the runs made so far, in order of time
	Assumptions  []string // what the plan rests on, in words
}

// PlanOptions says what the plan may count on.
type PlanOptions struct {
	Swap   judge.Swap // how the modification goes in and out; empty for by soldering
	PerDay int        // cold starts a day; 0 for one
}

// storedPlan is a plan as the book keeps it: its inputs, so that it can be
// seen what it rested on.
type storedPlan struct {
	Options     PlanOptions
	Plan        judge.Plan
	Assumptions []string
}

// PlanClaim works out which runs are needed to judge a claim, and stores the
// plan so that the count can be kept. claim is a claim's id ("set/mod#1").
func (s *Shop) PlanClaim(ctx context.Context, claim string, o PlanOptions) (PlanReport, error) {
	rep, err := s.planSubject(ctx, claim)
	if err != nil {
		return rep, err
	}
	if o.Swap == "" {
		o.Swap = judge.BySolder
	}
	rep.Options = o
	in, assumptions, err := s.planInput(ctx, rep, o)
	if err != nil {
		return rep, err
	}
	rep.Assumptions = assumptions
	if rep.Plan, err = judge.MakePlan(in); err != nil {
		return rep, err
	}
	doc, err := json.Marshal(storedPlan{o, rep.Plan, assumptions})
	if err != nil {
		return rep, err
	}
	if err := s.Book.PutPlan(ctx, rep.Claim.ID, doc); err != nil {
		return rep, err
	}
	return rep, s.count(ctx, &rep, o.PerDay)
}

// StoredPlan returns the plan of a claim as it was made, with the count as it
// stands now; ok is false where none was made.
func (s *Shop) StoredPlan(ctx context.Context, claim string) (rep PlanReport, ok bool, err error) {
	if rep, err = s.planSubject(ctx, claim); err != nil {
		return rep, false, err
	}
	plans, err := s.Book.Plans(ctx)
	if err != nil {
		return rep, false, err
	}
	doc, ok := plans[rep.Claim.ID]
	if !ok {
		return rep, false, nil
	}
	var stored storedPlan
	if err := json.Unmarshal(doc, &stored); err != nil {
		return rep, false, fmt.Errorf("plan of claim %s: %w", rep.Claim.ID, err)
	}
	rep.Options, rep.Plan, rep.Assumptions = stored.Options, renamed(stored.Plan, rep.Before, rep.After), stored.Assumptions
	return rep, true, s.count(ctx, &rep, stored.Options.PerDay)
}

// renamed puts the present names of the configurations into a plan. One made
// before anything was soldered knows the configuration with the modification
// only by a name of its own making.
func renamed(p judge.Plan, before, after string) judge.Plan {
	put := func(text string) string {
		if p.NameB != after {
			text = strings.ReplaceAll(text, p.NameB, after)
		}
		return text
	}
	out := p
	out.NameA, out.NameB, out.Order, out.Sentences = before, after, nil, nil
	for _, name := range p.Order {
		if name == p.NameB {
			name = after
		} else {
			name = before
		}
		out.Order = append(out.Order, name)
	}
	for _, s := range p.Sentences {
		out.Sentences = append(out.Sentences, put(s))
	}
	return out
}

// planSubject finds the claim and the configurations it will be judged on.
func (s *Shop) planSubject(ctx context.Context, claim string) (PlanReport, error) {
	var rep PlanReport
	var err error
	if rep.Claim, rep.Modification, err = s.findClaim(ctx, claim); err != nil {
		return rep, err
	}
	rep.Spec, _, _ = s.Registry.Figure(rep.Claim.Figure)
	rep.Spec = s.amountsOrDefaults(ctx).apply(rep.Spec)
	pair, err := s.plannedPair(ctx, rep.Modification)
	if err != nil {
		return rep, err
	}
	rep.Before, rep.After = pair.Before.Name, pair.After.Name
	return rep, nil
}

// plannedPair is the pair a claim will be judged on. Before anything was
// soldered there is no configuration with the modification yet: then it is the
// latest configuration, and that one with the modification in.
func (s *Shop) plannedPair(ctx context.Context, m receiver.Modification) (Pair, error) {
	configs, err := s.Book.Configurations(ctx, m.SetID)
	if err != nil {
		return Pair{}, err
	}
	if p := pairOf(m, configs); p.Found {
		return p, nil
	}
	target, err := s.Find(ctx, m.SetID)
	if err != nil {
		return Pair{}, err
	}
	for i := len(target.States) - 1; i >= 0; i-- {
		if c := configurationOf(configs, target.States[i].ConfigurationID); !has(c, m.ID) {
			return Pair{Before: c, After: receiver.Configuration{Name: c.Name + ", " + m.Title}}, nil
		}
	}
	return Pair{}, fmt.Errorf("%s: every state of the set has it in, so there is nothing to compare it with; plan a state without it", m.Title)
}

// findClaim finds a claim by id, or the only claim of a modification.
func (s *Shop) findClaim(ctx context.Context, selector string) (receiver.Claim, receiver.Modification, error) {
	if c, m, err := s.Book.Claim(ctx, selector); err == nil {
		return c, m, nil
	}
	m, err := s.FindModification(ctx, selector)
	if err != nil {
		return receiver.Claim{}, m, err
	}
	switch len(m.Claims) {
	case 0:
		return receiver.Claim{}, m, fmt.Errorf("%s has no claims yet: add what it is said to do", m.ID)
	case 1:
		return m.Claims[0], m, nil
	}
	var ids string
	for _, c := range m.Claims {
		ids += fmt.Sprintf("\n  %s  (%s)", c.ID, c.Words)
	}
	return receiver.Claim{}, m, fmt.Errorf("%s has %d claims: name one of%s", m.ID, len(m.Claims), ids)
}

// planInput gathers what is known: the value before, the scatter from run to
// run, and the errors that do not shrink with more runs.
func (s *Shop) planInput(ctx context.Context, rep PlanReport, o PlanOptions) (judge.PlanInput, []string, error) {
	claim := claimOf(rep.Claim)
	in := judge.PlanInput{
		Criterion: criterionOf(rep.Spec), Claim: &claim, NameA: rep.Before, NameB: rep.After, Swap: o.Swap, PerDay: o.PerDay,
	}
	row := ComparedFigure{Spec: rep.Spec, Key: keyOf(rep.Claim, rep.Spec), Conditions: rep.Claim.Conditions}
	values, err := s.valuesByState(ctx, rep, row)
	if err != nil {
		return in, nil, err
	}
	var notes []string
	if before := values[rep.Before]; len(before) > 0 {
		in.Before = quantity.Mean(before...).Estimate()
		notes = append(notes, fmt.Sprintf("%s now: %s, from %s", FigureTitle(rep.Spec, rep.Claim.Conditions), toldNumber(in.Before, rep.Spec.Unit), countedRuns(len(before))))
		in.Shared = sharedU(before)
	} else if rep.Claim.Relative || rep.Spec.Relative || rep.Spec.SpreadRelative {
		return in, nil, fmt.Errorf("nothing is known yet of %s before the change: make one run of %s first, then plan", FigureTitle(rep.Spec, rep.Claim.Conditions), rep.Before)
	}
	in.Scatter, in.Assumed = s.planScatter(values, rep.Spec, in.Before)
	if in.Assumed {
		notes = append(notes, fmt.Sprintf("no repeats are known yet, so a run-to-run scatter of %s is assumed; plan again after two runs of one state", toldNumber(in.Scatter.SD, rep.Spec.Unit)))
	} else {
		notes = append(notes, fmt.Sprintf("run-to-run scatter of %s from %s", toldNumber(in.Scatter.SD, rep.Spec.Unit), in.Scatter.Of))
	}
	return in, notes, nil
}

// valuesByState returns the figure's values in the finished runs of the set, by
// the name of the configuration.
func (s *Shop) valuesByState(ctx context.Context, rep PlanReport, row ComparedFigure) (map[string][]quantity.Value, error) {
	_, measurement, ok := s.Registry.Figure(rep.Claim.Figure)
	if !ok {
		return nil, fmt.Errorf("claim %s: there is no figure %q", rep.Claim.ID, rep.Claim.Figure)
	}
	configs, err := s.Book.Configurations(ctx, rep.Modification.SetID)
	if err != nil {
		return nil, err
	}
	states, err := s.Book.States(ctx, rep.Modification.SetID)
	if err != nil {
		return nil, err
	}
	out := map[string][]quantity.Value{}
	for _, st := range states {
		name := configurationOf(configs, st.ConfigurationID).Name
		out[name] = append(out[name], s.stateValues(ctx, st.ID, measurement, nil, nil, row)...)
	}
	return out, nil
}

// planScatter pools the scatter of all configurations with repeats, else takes
// the typical one of the figure.
func (s *Shop) planScatter(values map[string][]quantity.Value, spec measure.FigureSpec, before float64) (judge.Spread, bool) {
	var groups [][]quantity.Value
	repeats := 0
	for _, name := range slices.Sorted(maps.Keys(values)) { // in order, so that the pooled scatter has the same digits every time
		g := values[name]
		groups = append(groups, g)
		if len(g) > 1 {
			repeats += len(g)
		}
	}
	if sd, dof := judge.PoolScatter(groups); dof > 0 && sd > 0 {
		return judge.Spread{SD: sd, DoF: dof, Of: fmt.Sprintf("the set's own repeats, %s", countedRuns(repeats))}, false
	}
	sd := spec.Spread
	if spec.SpreadRelative {
		sd *= math.Abs(before)
	}
	return judge.Spread{SD: sd, Of: "a typical scatter"}, true
}

// sharedU is the standard uncertainty that all values have in common: sources
// that are not of one run.
func sharedU(values []quantity.Value) float64 {
	u := 0.0
	for _, c := range quantity.Mean(values...).Contributions() {
		if key, err := quantity.ParseSourceKey(c.ID); err == nil && key.Kind != quantity.FromRun {
			u = math.Hypot(u, c.C)
		}
	}
	return u
}

// keyOf is the key of the figure a claim is about.
func keyOf(c receiver.Claim, spec measure.FigureSpec) string {
	return run.Figure{ID: c.Figure, Conditions: c.Conditions}.Key(spec.By...)
}

func countedRuns(n int) string {
	if n == 1 {
		return "one run"
	}
	return fmt.Sprintf("%d runs", n)
}
