package report

import (
	"fmt"
	"math"

	"setwright/internal/chart"
	"setwright/internal/measure"
	"setwright/internal/workshop"
	"setwright/judge"
	"setwright/quantity"
)

// stripOf is what the runs of both sides found, as a picture.
func stripOf(v Verdict, a, b []workshop.Observed, unit string) chart.Strip {
	return chart.Strip{
		Title: "Single runs: " + v.Title, Label: v.Title, Unit: unit,
		Alt: fmt.Sprintf("What each run found. %s: %s. %s: %s.", v.NameA, Values(v.RunsA), v.NameB, Values(v.RunsB)),
		Rows: []chart.StripRow{
			{Label: v.NameA, Side: measure.SideA, Runs: stripRuns(a)},
			{Label: v.NameB, Side: measure.SideB, Runs: stripRuns(b)},
		},
	}
}

func stripRuns(seen []workshop.Observed) []chart.StripRun {
	var out []chart.StripRun
	for _, o := range seen {
		out = append(out, stripRun(o.Figure.Outcome))
	}
	return out
}

// stripRun is where an outcome lies: a value with its standard uncertainty, an
// interval without a mark, a bound open to one side.
func stripRun(o quantity.Outcome) chart.StripRun {
	x, u := o.Value.Estimate(), o.Value.U()
	switch o.Kind {
	case quantity.KindInterval:
		return chart.StripRun{X: math.NaN(), Lo: o.Lo, Hi: o.Hi}
	case quantity.KindBound:
		if o.Bound == quantity.LessThan {
			return chart.StripRun{X: x, Lo: math.Inf(-1), Hi: x}
		}
		return chart.StripRun{X: x, Lo: x, Hi: math.Inf(1)}
	case quantity.KindChoice:
		return chart.StripRun{X: math.NaN(), Lo: math.NaN(), Hi: math.NaN()}
	}
	return chart.StripRun{X: x, Lo: x - u, Hi: x + u}
}

// More says in a few words what would decide; the whole sentence stands beside
// the verdict's reasons.
func More(n judge.Needed) string {
	var text string
	switch {
	case n.Decided:
		return "enough runs"
	case n.Never:
		return "not by more runs alone"
	case n.MoreA == 0 && n.MoreB == 0:
		return ""
	case n.MoreA == n.MoreB:
		text = Count(n.MoreA, "more run", "more runs") + " a side"
	case n.MoreA == 0:
		text = Count(n.MoreB, "more run", "more runs") + " of side B"
	case n.MoreB == 0:
		text = Count(n.MoreA, "more run", "more runs") + " of side A"
	default:
		text = fmt.Sprintf("%s of side A, %d of side B", Count(n.MoreA, "more run", "more runs"), n.MoreB)
	}
	if n.AtLeast {
		return "at least " + text
	}
	return text
}
