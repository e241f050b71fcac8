package web

import (
	"math"
	"strconv"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// figureRow is a figure ready to be shown.
type figureRow struct {
	Name     string
	Text     string // value with uncertainty, interval, bound ...
	Interval string // where the value lies in 95 of 100 cases
	Help     string // its definition
	Remark   string // what must be read beside it
	Budget   []budgetLine
	Details  []string
	Method   string
}

// budgetLine is one source in an uncertainty budget.
type budgetLine struct {
	Name  string
	Text  string // its contribution
	Width float64
	DoF   string // degrees of freedom, where limited
}

// figureGroup is a figure that comes in many kinds, such as a deviation for
// each time.
type figureGroup struct {
	Title, Help string
	Rows        []figureRow
}

// mostInRows is how many figures of one kind stand in the table of all; more,
// such as a deviation for each time, make a group of their own.
const mostInRows = 6

// figureRows makes the rows of a table of figures; those with more than one
// condition of their own go into groups where they are many.
func (s *Server) figureRows(figures []run.Figure) (rows []figureRow, groups []figureGroup) {
	at, many := map[string]int{}, map[string]int{}
	for _, f := range figures {
		many[f.ID]++
	}
	for _, f := range figures {
		spec, _, _ := s.shop.Registry.Figure(f.ID)
		row := s.figureRow(f)
		if len(spec.By) < 2 || many[f.ID] <= mostInRows {
			rows = append(rows, row)
			continue
		}
		i, ok := at[f.ID]
		if !ok {
			i, at[f.ID] = len(groups), len(groups)
			groups = append(groups, figureGroup{Title: spec.Title, Help: spec.Help})
		}
		groups[i].Rows = append(groups[i].Rows, row)
	}
	return rows, groups
}

// figureRow makes one row.
func (s *Server) figureRow(f run.Figure) figureRow {
	row := figureRow{
		Name: measure.Capital(s.figureName(f)), Text: printer.Outcome(f.Outcome, f.Unit), Help: s.figureHelp(f), Method: f.Method,
		Budget: budgetOf(f.Value, f.Unit),
	}
	if f.Kind == quantity.KindValue {
		row.Text, row.Interval = printer.Format(f.Value, f.Unit), intervalOf(f, len(row.Budget) > 0)
	}
	for _, d := range f.Details {
		if d.ID != "why" && d.ID != "noise" {
			row.Details = append(row.Details, detailText(d))
		}
	}
	row.Remark = workshop.FigureRemark(f)
	return row
}

// intervalOf is where a value lies in 95 of 100 cases: its own interval where
// it is uneven, else that of its uncertainty.
func intervalOf(f run.Figure, uncertain bool) string {
	switch {
	case f.CI != nil:
		return printer.Outcome(quantity.Between(f.CI[0], f.CI[1]), f.Unit)
	case uncertain:
		lo, hi := f.Value.Interval(0.95)
		return printer.Outcome(quantity.Between(lo, hi), f.Unit)
	}
	return ""
}

// budgetOf lists what a value's uncertainty is made of.
func budgetOf(v quantity.Value, unit string) []budgetLine {
	u := v.U()
	if u == 0 || math.IsInf(u, 0) || math.IsNaN(u) {
		return nil
	}
	var out []budgetLine
	for _, share := range v.Budget() {
		line := budgetLine{Name: share.Name, Text: printer.Told(math.Abs(share.C), unit, 3), Width: math.Round(1000*math.Abs(share.C)/u) / 10}
		if share.DoF > 0 && !math.IsInf(share.DoF, 0) {
			line.DoF = told(share.DoF, "1")
		}
		out = append(out, line)
	}
	return out
}

// detailText writes a detail with its name.
func detailText(d run.Detail) string {
	name := strings.ReplaceAll(d.ID, "_", " ")
	if value := detailValue(d); value != "" {
		return name + ": " + value
	}
	return name
}

// detailValue writes what a detail says.
func detailValue(d run.Detail) string {
	var parts []string
	if d.Value != nil {
		v := quantity.Exact(*d.Value)
		switch {
		case d.U != nil:
			v = v.With(quantity.Contribution{C: *d.U})
			parts = append(parts, printer.Format(v, d.Unit))
		default:
			parts = append(parts, told(*d.Value, d.Unit))
		}
	}
	if d.Text != "" {
		parts = append(parts, d.Text)
	}
	for _, p := range d.Parts {
		parts = append(parts, detailText(p))
	}
	return strings.Join(parts, ", ")
}

// told writes a number that is only told, with three digits.
func told(x float64, unit string) string {
	if unit == "s" {
		return printer.Elapsed(x)
	}
	if short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 3, 64), 64); err == nil {
		x = short
	}
	return printer.Format(quantity.Exact(x), unit)
}
