package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/judge"
)

// CompareOptions says how two sides are compared. The zero value is a good
// default.
type CompareOptions struct {
	Measurement string            // empty: the one that both sides have runs of
	Options     map[string]string // evaluate every run with these
	Figures     []string          // only these figure ids; empty: all that can be judged
	// PairByDay pairs runs made on the same day: for two sets measured side by
	// side, morning after morning.
	PairByDay bool
	Progress  func(done float64)
}

// Compare judges side b against side a: two states, configurations or sets.
func (s *Shop) Compare(ctx context.Context, a, b string, o CompareOptions) (Comparison, error) {
	ta, err := s.Find(ctx, a)
	if err != nil {
		return Comparison{}, err
	}
	tb, err := s.Find(ctx, b)
	if err != nil {
		return Comparison{}, err
	}
	return s.compareTargets(ctx, ta, tb, o)
}

// checkAsked refuses figures and options that the measurement does not have.
func (s *Shop) checkAsked(about measure.About, o CompareOptions) error {
	for _, id := range o.Figures {
		if !slices.ContainsFunc(about.Figures, func(f measure.FigureSpec) bool { return f.ID == id }) {
			return &measure.OptionError{Title: fmt.Sprintf("figure %q", id), Text: "expected one of " + strings.Join(judgedOf(about.Figures), ", ")}
		}
	}
	return s.checkOptions(about.ID, o.Options)
}

// judgedOf are the ids of the figures that can be judged.
func judgedOf(specs []measure.FigureSpec) []string {
	var ids []string
	for _, f := range specs {
		if f.Better != "" && f.Matters != 0 {
			ids = append(ids, f.ID)
		}
	}
	return ids
}

// compareTargets compares two resolved targets.
func (s *Shop) compareTargets(ctx context.Context, ta, tb Target, o CompareOptions) (Comparison, error) {
	runsA, err := s.targetRuns(ctx, ta)
	if err != nil {
		return Comparison{}, err
	}
	runsB, err := s.targetRuns(ctx, tb)
	if err != nil {
		return Comparison{}, err
	}
	if o.Measurement, err = commonMeasurement(o.Measurement, ta, tb, runsA, runsB); err != nil {
		return Comparison{}, err
	}
	m, err := s.Registry.Get(o.Measurement)
	if err != nil {
		return Comparison{}, err
	}
	about := m.About()
	if err := s.checkAsked(about, o); err != nil {
		return Comparison{}, err
	}
	c := Comparison{About: about, A: groupOf(ta), B: groupOf(tb)}
	if c.Also, err = s.otherMeasurements(about.ID, runsA, runsB); err != nil {
		return c, err
	}
	if o.Progress == nil {
		o.Progress = func(float64) {}
	}
	if err := s.evaluate(ctx, m, &c, ofMeasurement(runsA, o.Measurement), ofMeasurement(runsB, o.Measurement), o); err != nil {
		return c, err
	}
	s.judgeAll(ctx, &c, o)
	c.Sentences = c.sentences()
	c.Plots = []measure.Plot{measure.Overlay(mainPlots(c.A), mainPlots(c.B), c.A.Name, c.B.Name)}
	return c, nil
}

// evaluate loads both sides, checks whether they can be compared, and analyses
// every run under the same options.
func (s *Shop) evaluate(ctx context.Context, m measure.Measurement, c *Comparison, runsA, runsB []run.Run, o CompareOptions) error {
	rawA, err := s.raws(ctx, runsA)
	if err != nil {
		return err
	}
	rawB, err := s.raws(ctx, runsB)
	if err != nil {
		return err
	}
	runsA, rawA = s.leaveOut(c, sameFile(runsA), runsA, rawA)
	runsB, rawB = s.leaveOut(c, sameFile(runsB), runsB, rawB)
	unfitA, unfitB := measure.FitRuns(c.About, rawA, rawB)
	runsA, rawA = s.leaveOut(c, unfitA, runsA, rawA)
	runsB, rawB = s.leaveOut(c, unfitB, runsB, rawB)
	c.Fairness = measure.CheckFair(c.About, rawA, rawB, c.A.Set.ID != c.B.Set.ID)
	c.Applied = map[string]string{}
	if al, ok := m.(measure.Aligner); ok {
		for k, v := range al.Align(append(append([]measure.Raw(nil), rawA...), rawB...)) {
			c.Applied[k] = v
		}
	}
	for k, v := range o.Options {
		c.Applied[k] = v
	}
	total := float64(len(runsA) + len(runsB))
	for i, r := range append(append([]run.Run(nil), runsA...), runsB...) {
		res, err := s.Result(ctx, r.ID, c.Applied, nil)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		o.Progress(float64(i+1) / total)
		if err != nil {
			c.Warnings = append(c.Warnings, fmt.Sprintf("%s left out: %v", s.runTitle(r), err))
			continue
		}
		if i < len(runsA) {
			c.A.Results = append(c.A.Results, res)
		} else {
			c.B.Results = append(c.B.Results, res)
		}
	}
	return nil
}

// judgeAll judges every figure that can be judged, as one family.
func (s *Shop) judgeAll(ctx context.Context, c *Comparison, o CompareOptions) {
	amounts := s.amountsOrDefaults(ctx)
	var questions []judge.Question
	for _, row := range figureRows(*c, o.Figures) {
		spec := amounts.apply(row.Spec)
		row.Spec = spec
		if spec.Better == "" || spec.Matters == 0 {
			continue
		}
		opt := judge.Options{PairByDay: o.PairByDay, Unpaired: !o.PairByDay}
		opt.KnownScatter = s.knownScatter(ctx, c.A, *c, row)
		if c.B.Set.ID != c.A.Set.ID {
			if opt.KnownB = s.knownScatter(ctx, c.B, *c, row); opt.KnownB == nil {
				opt.KnownB = &judge.Spread{} // how one set repeats says nothing of another
			}
		}
		questions = append(questions, judge.Question{
			A: sideOf(c.A, row), B: sideOf(c.B, row), Criterion: criterionOf(spec), Options: opt,
		})
		c.Rows = append(c.Rows, row)
	}
	for i, v := range judge.CompareAll(questions) {
		if c.Fairness.Blocked {
			v.Word = judge.CannotTell
			v.Reasons = append([]string{"the runs were not made under conditions that allow a comparison"}, v.Reasons...)
		}
		c.Rows[i].Verdict = v
	}
}

// criterionOf turns a figure's spec into what judge asks.
func criterionOf(spec measure.FigureSpec) judge.Criterion {
	return judge.Criterion{
		Figure: spec.ID, Unit: spec.Unit, Better: judge.Direction(spec.Better),
		Matters: spec.Matters, Relative: spec.Relative, Why: spec.Why,
	}
}

func mainPlots(g Group) []measure.Plot {
	var out []measure.Plot
	for _, r := range g.Results {
		if len(r.Analysis.Plots) > 0 {
			out = append(out, r.Analysis.Plots[0])
		}
	}
	return out
}
