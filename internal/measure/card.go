package measure

import (
	"slices"

	"setwright/internal/run"
)

// CardLine is one line of blanks on a printed bench card, beyond the rows of
// readings: what to write down once. Unit is taken for a bare number. Option
// names the measurement's option it fills, Fact what else of the run.
type CardLine struct {
	Label, Unit, Option, Fact string
}

// The facts of a run that a card asks for.
const (
	FactSet        = "set"
	FactState      = "state"
	FactDay        = "day"        // on which it was made
	FactClock      = "clock"      // at which it was switched on
	FactOperator   = "operator"   // who made it
	FactInstrument = "instrument" // what the readings were taken with
)

// Carded is implemented by measurements that can be done with a printed card:
// the lines to fill in once, the times at which to read (seconds from the
// start, nil for free) and what is written in each row, in order.
type Carded interface {
	Card(setup run.Setup) Card
}

// Card is a bench card with blanks.
type Card struct {
	Before  []CardLine   // filled in once
	Steps   []Step       // what to do, in order
	AtS     []float64    // reading times from the start, one a row
	Columns []ColumnSpec // columns to fill in per row
	// Rows is the number of rows where no times are planned.
	Rows int
	// Planned is what is printed in a row already, by column role: the level to
	// set. It may be shorter than the rows.
	Planned []map[string]string
}

// Len is the number of rows to fill in.
func (c Card) Len() int { return max(len(c.AtS), c.Rows, len(c.Planned)) }

// Timed says whether the card has a column of times.
func (c Card) Timed() bool {
	return slices.ContainsFunc(c.Columns, func(s ColumnSpec) bool { return s.Role == "time" })
}

// Print returns what is printed in a row and column already, or "".
func (c Card) Print(row int, role string) string {
	if row >= len(c.Planned) {
		return ""
	}
	return c.Planned[row][role]
}
