package report

import (
	"fmt"
	"math"
	"strings"

	"setwright/internal/chart"
	"setwright/internal/measure"
	"setwright/internal/workshop"
	"setwright/judge"
	"setwright/quantity"
)

// Verdict is a judged figure as it is shown: everything in words, on one scale.
type Verdict struct {
	ID, Key            string // figure id; with the conditions that make it its own
	Title              string // "settling time to ±100 Hz"
	Help               string // what the figure is
	NameA, NameB       string
	A, B, Difference   string
	Word               string // "better"; the same word everywhere
	Slug               string // the word as a class: "better", "cannot-tell-yet"
	Interval           string // 95 % interval of the difference
	Matters, Why       string // the amount that matters and its reason
	Needed             string // what would decide
	More               string // the same in a few words
	RunsA, RunsB       []RunValue
	Strip              chart.Strip // the runs as a picture
	Budget             []Bar       // of the difference, largest first
	Shared             []Bar       // on both sides: what was there, and what is left
	ScatterA, ScatterB string
	Tests              []Line // p values in words
	Apart              []string
	Without            string // the verdict without them, where it turns
	Reasons            []string
	Together           int // figures judged in one family
}

// Values lists what the runs of a side found, in order of time.
func Values(runs []RunValue) string {
	var out []string
	for _, r := range runs {
		out = append(out, r.Text)
	}
	return strings.Join(out, "; ")
}

// RunValue is what one run found.
type RunValue struct{ RunID, Label, Text string }

// Bar is one line of an uncertainty budget.
type Bar struct {
	Name    string
	Width   int    // per cent of the largest
	Amount  string // standard contribution
	Share   string // of the variance
	Gone    bool   // shared by both sides, and nothing or nearly nothing is left
	Remains string // what is left of a shared one
}

// Line is a thing with its words.
type Line struct{ Name, Text string }

// Verdicts are all judged figures of a comparison, in its order.
func Verdicts(c workshop.Comparison) []Verdict {
	var out []Verdict
	for _, row := range c.Rows {
		out = append(out, VerdictOf(c, row))
	}
	return out
}

// VerdictOf puts one judged figure of a comparison into words.
func VerdictOf(c workshop.Comparison, row workshop.ComparedFigure) Verdict {
	v, unit := row.Verdict, row.Spec.Unit
	scale := commonScale(v, unit)
	out := Verdict{
		ID: row.Spec.ID, Key: row.Key, Title: workshop.FigureTitle(row.Spec, row.Conditions), Help: row.Spec.Help,
		NameA: SideName(c, c.A), NameB: SideName(c, c.B),
		A: side(v.A, v.AForm, unit, scale), B: side(v.B, v.BForm, unit, scale), Difference: side(v.Difference, v.DifferenceForm, unit, scale),
		Word: string(v.Word), Slug: Slug(string(v.Word)), Interval: interval(v.CI95, scale),
		Matters: told(v.Matters, unit), Why: row.Spec.Why, Needed: v.Needed.Sentence, More: More(v.Needed),
		Budget: budget(c, v, scale), Shared: shared(v, scale), Tests: tests(v), Reasons: v.Reasons,
		ScatterA: scatter(v.ScatterA, unit), ScatterB: scatter(v.ScatterB, unit),
		Apart: apart(v, unit), Without: without(v, unit),
	}
	if v.Adjusted != nil {
		out.Together = v.Adjusted.Of
	}
	a, b := c.Observed(row)
	out.RunsA, out.RunsB = runValues(a, row.Spec), runValues(b, row.Spec)
	out.Strip = stripOf(out, a, b, unit)
	return out
}

// SideName names a side of a comparison: within one set its state is enough.
func SideName(c workshop.Comparison, g workshop.Group) string { return shortened(c, g.Name) }

// shortened leaves the set's name out of a text where both sides are of one set.
func shortened(c workshop.Comparison, text string) string {
	if c.A.Set.ID != c.B.Set.ID || c.A.Set.Name == "" {
		return text
	}
	return strings.ReplaceAll(text, c.A.Set.Name+", ", "")
}

// Slug makes a class name of a verdict's word.
func Slug(word string) string {
	word, _, _ = strings.Cut(word, ",")
	return strings.ReplaceAll(word, " ", "-")
}

// commonScale is the scale on which both sides and the difference are read, so
// that they can be taken from each other by eye.
func commonScale(v judge.Verdict, unit string) quantity.Scale {
	var all []float64
	for _, x := range []quantity.Value{v.A, v.B, v.Difference} {
		if x.Defined() {
			all = append(all, x.Estimate())
		}
	}
	return quantity.ScaleFor(all, unit)
}

// side prints a side in the form in which it is known.
func side(v quantity.Value, form quantity.Outcome, unit string, scale quantity.Scale) string {
	switch {
	case form.Kind != "" && form.Kind != quantity.KindValue:
		return printer.Outcome(form, unit)
	case form.Kind == "" || !v.Defined():
		return printer.Outcome(quantity.Outcome{}, unit)
	}
	return in(scale, printer.In(v, scale))
}

// in puts the label of a scale behind a number.
func in(scale quantity.Scale, number string) string {
	if scale.Label == "" {
		return number
	}
	return number + "\u00a0" + scale.Label
}

// told prints an amount; nothing for none.
func told(x float64, unit string) string {
	if x == 0 {
		return ""
	}
	return printer.Told(x, unit, 3)
}

func interval(ci *[2]float64, scale quantity.Scale) string {
	if ci == nil {
		return ""
	}
	o := quantity.Between(ci[0]/scale.Factor, ci[1]/scale.Factor)
	text := strings.TrimPrefix(printer.Outcome(o, "1"), "between ")
	return in(scale, strings.Replace(text, " and ", " to ", 1))
}

// budget is what the uncertainty of the difference is made of, largest first.
func budget(c workshop.Comparison, v judge.Verdict, scale quantity.Scale) []Bar {
	var out []Bar
	for _, s := range v.Budget {
		if s.Share < 1e-6 {
			continue // a millionth of the variance is not worth a line
		}
		out = append(out, Bar{
			Name: shortened(c, s.Name), Width: percent(s.C, v.Budget[0].C), Amount: in(scale, number(math.Abs(s.C), scale)),
			Share: share(s.Share),
		})
	}
	return out
}

// shared lists what acts on both sides; v.Shared is said of the difference.
func shared(v judge.Verdict, scale quantity.Scale) []Bar {
	var out []Bar
	largest := 0.0
	for _, c := range v.Budget {
		largest = math.Max(largest, math.Abs(c.C))
	}
	for _, e := range v.Shared {
		if !e.Common() {
			continue
		}
		size := math.Max(math.Abs(e.A), math.Abs(e.B))
		if size < 1e-3*largest {
			continue // a thousandth of what counts is not worth a line
		}
		bar := Bar{Name: e.Name, Amount: in(scale, number(size, scale)), Gone: e.Cancelled(), Width: min(100, percent(size, math.Max(largest, size)))}
		if !bar.Gone {
			bar.Remains = in(scale, number(math.Abs(e.Result), scale))
		}
		out = append(out, bar)
	}
	return out
}

// number prints a part on a scale to two digits; what is too small to be seen
// beside the rest says so.
func number(x float64, scale quantity.Scale) string {
	y := scale.Of(x)
	if y != 0 && math.Abs(y) < 1e-4 {
		return "less than 0.0001"
	}
	return printer.Told(y, "", 2)
}

func percent(x, of float64) int {
	if of == 0 {
		return 0
	}
	return int(math.Round(100 * math.Abs(x/of)))
}

func share(x float64) string {
	if x < 0.005 {
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*x)
}

// tests puts the three statements into words.
func tests(v judge.Verdict) []Line {
	if !v.Tested {
		return nil
	}
	p := [3]float64{v.P, v.PLarge, math.Max(v.TOST.Lower, v.TOST.Upper)}
	if v.Adjusted != nil {
		p = [3]float64{v.Adjusted.P, v.Adjusted.PLarge, v.Adjusted.PSmall}
	}
	out := []Line{{"that there is no difference at all", pValue(p[0])}}
	if v.Matters > 0 {
		out = append(out,
			Line{"that it is not beyond what matters", pValue(p[1])},
			Line{"that it is not within what matters", pValue(p[2])})
	}
	if v.Rank != nil {
		out = append(out, Line{"by ranks alone, beside the verdict", v.Rank.Sentence})
	}
	return out
}

func pValue(p float64) string {
	if p < 0.001 {
		return "p < 0.001"
	}
	return "p = " + printer.Told(p, "1", 2)
}

func scatter(s judge.SideScatter, unit string) string {
	if s.From == judge.FromNone || s.From == "" {
		return "not known"
	}
	text := fmt.Sprintf("%s, from %s", printer.Told(s.SD, unit, 2), s.From)
	if s.Raised {
		text += "; raised to what the runs' own noise predicts"
	}
	return text
}

func apart(v judge.Verdict, unit string) []string {
	var out []string
	for _, a := range v.Apart {
		name := a.Label
		if name == "" {
			name = a.Run
		}
		out = append(out, fmt.Sprintf("%s stands apart from the other runs of %s: %s against %s. It is not left out.",
			name, a.Side, printer.Told(a.Value, unit, 3), printer.Told(a.Others, unit, 3)))
	}
	return out
}

func without(v judge.Verdict, unit string) string {
	if v.Without == nil {
		return ""
	}
	return fmt.Sprintf("Without what stands apart the verdict would be: %s (difference %s).", v.Without.Word, printer.Format(v.Without.Difference, unit))
}

func runValues(seen []workshop.Observed, spec measure.FigureSpec) []RunValue {
	var out []RunValue
	for _, o := range seen {
		found := o.Figure.Outcome
		if found.Kind == quantity.KindValue && found.Value.U() > 0 {
			found.CI = nil // a list has room for one uncertainty
		}
		out = append(out, RunValue{o.Run.ID, o.Label, printer.Outcome(found, spec.Unit)})
	}
	return out
}
