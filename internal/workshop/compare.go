package workshop

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/judge"
	"setwright/quantity"
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
			return &measure.OptionError{Title: fmt.Sprintf("figure %q", id), Text: "expected one of " + strings.Join(s.judgedFigures(), ", ")}
		}
	}
	return s.checkOptions(about.ID, o.Options)
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
	if err := s.checkAsked(m.About(), o); err != nil {
		return Comparison{}, err
	}
	c := Comparison{About: m.About(), A: groupOf(ta), B: groupOf(tb)}
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

// targetRuns lists the finished runs of a target in order of time.
func (s *Shop) targetRuns(ctx context.Context, t Target) ([]run.Run, error) {
	var out []run.Run
	for _, st := range t.States {
		runs, err := s.runsOf(ctx, st.ID)
		if err != nil {
			return nil, err
		}
		for _, r := range runs {
			if !r.Open {
				out = append(out, r)
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return moment(out[i]).Before(moment(out[j])) })
	return out, nil
}

// commonMeasurement is the measurement that both sides have runs of.
func commonMeasurement(wanted string, a, b Target, runsA, runsB []run.Run) (string, error) {
	for _, side := range []struct {
		t    Target
		runs []run.Run
	}{{a, runsA}, {b, runsB}} {
		if len(side.runs) == 0 {
			return "", fmt.Errorf("%s has no finished runs yet, so there is nothing to compare; import a log or type readings first", side.t.Name)
		}
	}
	if wanted != "" {
		return wanted, nil
	}
	for _, ra := range runsA {
		for _, rb := range runsB {
			if ra.Measurement == rb.Measurement {
				return ra.Measurement, nil
			}
		}
	}
	return "", fmt.Errorf("%s and %s have no measurement in common", a.Name, b.Name)
}

func groupOf(t Target) Group {
	return Group{Selector: t.ID, Kind: t.Kind, Name: t.Name, Set: t.Set}
}

func ofMeasurement(runs []run.Run, id string) []run.Run {
	var out []run.Run
	for _, r := range runs {
		if r.Measurement == id {
			out = append(out, r)
		}
	}
	return out
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
	c.Fairness = measure.CheckFair(c.About, rawA, rawB)
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

// sameFile lists the runs whose log is that of an earlier one, byte for byte: a
// log imported twice is no repeat.
func sameFile(runs []run.Run) []measure.Unfit {
	first := map[string]string{}
	var out []measure.Unfit
	for i, r := range runs {
		sum := r.Origin.SHA256
		if sum == "" {
			continue
		}
		if earlier, ok := first[sum]; ok {
			out = append(out, measure.Unfit{Index: i, Why: "its file is that of run " + earlier + ", byte for byte, and a log imported twice is no repeat"})
			continue
		}
		first[sum] = r.ID
	}
	return out
}

// leaveOut takes the unfit runs out and names them.
func (s *Shop) leaveOut(c *Comparison, unfit []measure.Unfit, runs []run.Run, raws []measure.Raw) ([]run.Run, []measure.Raw) {
	var keptRuns []run.Run
	var keptRaws []measure.Raw
	for i := range runs {
		if len(unfit) > 0 && unfit[0].Index == i {
			c.Notes = append(c.Notes, fmt.Sprintf("%s takes no part: %s", s.runTitle(runs[i]), unfit[0].Why))
			unfit = unfit[1:]
			continue
		}
		keptRuns, keptRaws = append(keptRuns, runs[i]), append(keptRaws, raws[i])
	}
	return keptRuns, keptRaws
}

// raws loads the raw data of runs as analyses see them.
func (s *Shop) raws(ctx context.Context, runs []run.Run) ([]measure.Raw, error) {
	var out []measure.Raw
	for _, r := range runs {
		res, _, err := s.load(ctx, r.ID)
		if err != nil {
			return nil, err
		}
		out = append(out, res.Raw)
	}
	return out, nil
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

// figureRows gathers the figures of both sides by key, in the order of the
// measurement's list.
func figureRows(c Comparison, only []string) []ComparedFigure {
	var out []ComparedFigure
	for _, spec := range c.About.Figures {
		if len(only) > 0 && !contains(only, spec.ID) {
			continue
		}
		rows := map[string]*ComparedFigure{}
		var keys []string
		collect := func(g Group, put func(*ComparedFigure, run.Figure)) {
			for _, r := range g.Results {
				for _, f := range r.Analysis.Figures {
					if f.ID != spec.ID {
						continue
					}
					key := f.Key(spec.By...)
					if rows[key] == nil {
						rows[key] = &ComparedFigure{Spec: spec, Key: key, Conditions: pick(f.Conditions, spec.By)}
						keys = append(keys, key)
					}
					put(rows[key], f)
				}
			}
		}
		collect(c.A, func(row *ComparedFigure, f run.Figure) { row.A = append(row.A, f) })
		collect(c.B, func(row *ComparedFigure, f run.Figure) { row.B = append(row.B, f) })
		for _, key := range keys {
			out = append(out, *rows[key])
		}
	}
	return out
}

// sideOf returns one side's observations of a figure.
func sideOf(g Group, row ComparedFigure) judge.Side {
	side := judge.Side{Name: g.Name}
	for _, r := range g.Results {
		for _, f := range r.Analysis.Figures {
			if f.ID != row.Spec.ID || f.Key(row.Spec.By...) != row.Key {
				continue
			}
			o := f.Outcome
			if row.Spec.Magnitude {
				o = o.Abs()
			}
			side.Observations = append(side.Observations, judge.Observation{
				Run: r.Run.ID, Label: runLabel(r.Run), Outcome: o, Day: r.Run.Setup.Day,
			})
		}
	}
	return side
}

// runLabel names a run within a side.
func runLabel(r run.Run) string {
	if r.Title != "" {
		return r.Title
	}
	if !r.Started.IsZero() {
		return r.Started.Format("2 Jan 2006")
	}
	return r.ID
}

// sentences puts the comparison in words: the answer first, then what is not
// known.
func (c Comparison) sentences() []string {
	if c.Fairness.Blocked {
		out := []string{"These runs cannot be compared: they were not made under conditions that allow it."}
		for _, f := range c.Fairness.Findings {
			if f.Blocks {
				out = append(out, f.Text)
			}
		}
		return out
	}
	byWord := map[judge.Word][]ComparedFigure{}
	for _, row := range c.Rows {
		byWord[row.Verdict.Word] = append(byWord[row.Verdict.Word], row)
	}
	if len(c.Rows) == 0 {
		return []string{"No figure that can be judged is known for both sides."}
	}
	var parts []string
	for _, w := range []judge.Word{judge.Better, judge.Worse, judge.BetterPerhaps, judge.WorsePerhaps, judge.Different, judge.DifferentPerhaps, judge.NoDifference, judge.CannotTell} {
		if rows := byWord[w]; len(rows) > 0 {
			parts = append(parts, fmt.Sprintf("%s on %s", w, titlesOf(rows)))
		}
	}
	out := []string{fmt.Sprintf("%s against %s: %s.", measure.Capital(c.within(c.B)), c.within(c.A), strings.Join(parts, "; "))}
	if plain := c.plainest(); plain != nil {
		v := plain.Verdict
		out = append(out, fmt.Sprintf("%s: %s instead of %s.", measure.Capital(FigureTitle(plain.Spec, plain.Conditions)),
			printer.Outcome(v.BForm, v.Unit), printer.Outcome(v.AForm, v.Unit)))
	}
	for _, row := range c.Rows {
		if row.Verdict.Word == judge.CannotTell && row.Verdict.Needed.Sentence != "" {
			out = append(out, fmt.Sprintf("%s: %s", measure.Capital(FigureTitle(row.Spec, row.Conditions)), row.Verdict.Needed.Sentence))
		}
	}
	return out
}

// within names a side; within one set the state is enough.
func (c Comparison) within(g Group) string {
	if c.A.Set.ID != c.B.Set.ID {
		return g.Name
	}
	return strings.TrimPrefix(g.Name, g.Set.Name+", ")
}

// plainest is the figure that differs by the most, counted in amounts that
// matter, of those that differ for certain; nil where none does.
func (c Comparison) plainest() *ComparedFigure {
	var out *ComparedFigure
	most := 0.0
	for i, row := range c.Rows {
		v := row.Verdict
		if (v.Word != judge.Better && v.Word != judge.Worse) || v.Matters == 0 || v.AForm.Kind != quantity.KindValue || v.BForm.Kind != quantity.KindValue {
			continue
		}
		if size := math.Abs(v.Difference.Estimate() / v.Matters); size > most {
			out, most = &c.Rows[i], size
		}
	}
	return out
}

// titlesOf names figures one after the other; one that comes in several kinds
// is named once: "settling time (to ±500 Hz, to ±100 Hz), excursion".
func titlesOf(rows []ComparedFigure) string {
	var titles []string
	kinds := map[string][]string{}
	for _, row := range rows {
		title := row.Spec.Title
		if _, seen := kinds[title]; !seen {
			titles = append(titles, title)
		}
		kinds[title] = append(kinds[title], strings.TrimSpace(strings.TrimPrefix(FigureTitle(row.Spec, row.Conditions), title)))
	}
	for i, title := range titles {
		switch list := kinds[title]; {
		case len(list) > 1:
			titles[i] = fmt.Sprintf("%s (%s)", title, strings.Join(list, ", "))
		case list[0] != "":
			titles[i] = title + " " + list[0]
		}
	}
	return strings.Join(titles, ", ")
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

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func pick(m map[string]string, keys []string) map[string]string {
	out := map[string]string{}
	for _, k := range keys {
		if v, ok := m[k]; ok {
			out[k] = v
		}
	}
	return out
}
