package workshop

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// cardSeries reads the rows of a filled card; struck are the rows to be struck
// out.
func cardSeries(a measure.About, e CardEntry) (s run.Series, struck []int, err error) {
	for _, c := range a.Columns {
		if c.Role == "time" && c.Required || usedOnCard(e, c.Role) {
			s.Columns = append(s.Columns, run.Column{Role: c.Role, Unit: unitOnCard(c, a, e)})
		}
	}
	for i, row := range e.Rows {
		if emptyRow(row) {
			continue
		}
		if row.Struck {
			struck = append(struck, s.Len())
		}
		for k := range s.Columns {
			if err := addCell(&s.Columns[k], a, e, row); err != nil {
				return s, nil, &CardRowError{i + 1, err}
			}
		}
	}
	if s.Len() < 2 {
		return s, nil, fmt.Errorf("the card holds %d reading(s): expected two at least", s.Len())
	}
	return s, struck, nil
}

// CardRowError is a row of a card that could not be read.
type CardRowError struct {
	Row int // from 1, spare rows counted
	Err error
}

func (e *CardRowError) Error() string { return fmt.Sprintf("row %d of the card: %v", e.Row, e.Err) }

// Unwrap returns what was wrong with the row.
func (e *CardRowError) Unwrap() error { return e.Err }

// addCell reads one cell of a row into its column.
func addCell(c *run.Column, a measure.About, e CardEntry, row CardRow) error {
	text, unit := strings.TrimSpace(row.Values[c.Role]), bareUnit(a, c.Role)
	switch {
	case c.Role == "time":
		text, unit = strings.TrimSpace(row.Time), "min"
	case c.Role == firstReadingRole(a) && e.Unit != "":
		unit = e.Unit
	}
	c.Text = append(c.Text, text)
	if text == "" {
		c.Values = append(c.Values, math.NaN())
		if c.Role == "time" && wantsTime(a) {
			return fmt.Errorf("its time is missing")
		}
		return nil
	}
	q, err := quantity.ParseAs(text, unit)
	if err != nil {
		return err
	}
	x, err := q.In(c.Unit)
	if err != nil {
		return err
	}
	c.Values = append(c.Values, x)
	if q.Resolution > 0 && (c.Resolution == 0 || q.Resolution < c.Resolution) {
		c.Resolution = q.Resolution
	}
	return nil
}

// bareUnit is the unit of a bare number in a column, by its role.
func bareUnit(a measure.About, role string) string {
	for _, c := range a.Columns {
		if c.Role == role {
			return c.BareUnit()
		}
	}
	return ""
}

// unitOnCard is the base unit of a column that may come in several: the first
// that every cell fits.
func unitOnCard(c measure.ColumnSpec, a measure.About, e CardEntry) string {
	bare := c.BareUnit()
	if c.Role == firstReadingRole(a) && e.Unit != "" {
		bare = e.Unit
	}
	for _, base := range c.BaseUnits() {
		if !slices.ContainsFunc(e.Rows, func(row CardRow) bool { return !fits(row.Values[c.Role], bare, base) }) {
			return base
		}
	}
	return c.Unit
}

// fits says whether a cell can be kept in a base unit; an empty one can.
func fits(text, bare, base string) bool {
	text = strings.TrimSpace(text)
	if text == "" {
		return true
	}
	q, err := quantity.ParseAs(text, bare)
	if err != nil {
		return false
	}
	_, err = q.In(base)
	return err == nil
}

// firstReadingRole is the column that bare readings go to.
func firstReadingRole(a measure.About) string {
	columns := a.TypedColumns()
	if len(columns) == 0 {
		return ""
	}
	return columns[0].Role
}

func usedOnCard(e CardEntry, role string) bool {
	for _, row := range e.Rows {
		if strings.TrimSpace(row.Values[role]) != "" {
			return true
		}
	}
	return false
}

func emptyRow(row CardRow) bool {
	for _, v := range row.Values {
		if strings.TrimSpace(v) != "" {
			return false
		}
	}
	return true
}
