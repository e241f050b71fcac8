package workshop

import (
	"fmt"
	"math"
	"strings"

	"setwright/internal/measure"
	"setwright/judge"
	"setwright/quantity"
)

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
