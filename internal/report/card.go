package report

import (
	"html/template"
	"io"

	"setwright/internal/measure"
	"setwright/internal/workshop"
)

// cardPage is a bench card as the template sees it.
type cardPage struct {
	workshop.BenchCard
	CSS     template.CSS
	Before  []Line // what is known already; empty text is a blank
	Rows    []cardRow
	Columns []measure.ColumnSpec // without the time
}

// cardRow is one row of blanks; At is the printed minute, empty for spare ones.
type cardRow struct {
	Number int
	At     string
	Cells  []string // what is printed already, by column; empty for a blank
}

// SpareRows are for readings nobody planned.
const SpareRows = 2

// Card writes a bench card: one HTML file that prints on two sides of A4 or
// Letter, with blanks to fill in by hand.
func Card(w io.Writer, c workshop.BenchCard) error {
	page := cardPage{BenchCard: c}
	var err error
	if page.CSS, err = style("card.css", "serif-semibold.otf", "sans-regular.ttf", "sans-bold.ttf"); err != nil {
		return err
	}
	for _, line := range c.Card.Before {
		page.Before = append(page.Before, Line{line.Label, c.Printed(line)})
	}
	for _, col := range c.Card.Columns {
		if col.Role != "time" {
			page.Columns = append(page.Columns, col)
		}
	}
	for i := range c.Card.Len() + SpareRows {
		page.Rows = append(page.Rows, page.row(i))
	}
	return write(w, "card.html", page)
}

// row is one row of the card, with what is printed in it.
func (p cardPage) row(i int) cardRow {
	row := cardRow{Number: i + 1}
	if i < len(p.Card.AtS) {
		row.At = workshop.Minutes(p.Card.AtS[i])
	}
	for _, c := range p.Columns {
		row.Cells = append(row.Cells, p.Card.Print(i, c.Role))
	}
	return row
}

// Cautions are those to read before beginning.
func (p cardPage) Cautions() []string {
	var out []string
	for _, c := range p.About.Cautions {
		if c.Where == "before" && !p.atStep(c.Text) {
			out = append(out, c.Text)
		}
	}
	return out
}

// atStep says whether a caution stands at a step already.
func (p cardPage) atStep(text string) bool {
	for _, s := range p.Card.Steps {
		if s.Caution == text {
			return true
		}
	}
	return false
}

// columnUnit is the unit at the head of a column; a bare number has none.
func columnUnit(c measure.ColumnSpec) string {
	if unit := c.BareUnit(); unit != "1" {
		return unit
	}
	return ""
}
