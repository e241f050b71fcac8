package workshop

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// typedColumns are the columns that a typed row fills, in order; one at least.
func typedColumns(a measure.About) ([]measure.ColumnSpec, error) {
	columns := a.TypedColumns()
	if len(columns) == 0 {
		return nil, fmt.Errorf("%s takes no typed readings", a.Title)
	}
	return columns, nil
}

// typedIn returns how the rows of a typed run are read.
func typedIn(r run.Run, a measure.About) ([]measure.ColumnSpec, typedLayout, error) {
	var layout typedLayout
	if err := json.Unmarshal([]byte(r.Origin.Layout), &layout); err != nil {
		return nil, layout, fmt.Errorf("run %s: how its readings are typed cannot be read: %w", r.ID, err)
	}
	if len(layout.Columns) == 0 {
		layout.Columns = []string{"frequency"} // of runs that were opened before rows had several columns
	}
	columns := measure.About{Columns: a.Columns, Typed: layout.Columns}.TypedColumns()
	if len(columns) != len(layout.Columns) {
		return nil, layout, fmt.Errorf("run %s has columns %s, which %s does not take", r.ID, strings.Join(layout.Columns, ", "), a.Title)
	}
	return columns, layout, nil
}

// baseOf returns the base unit in which a column is kept that is typed in a
// unit.
func baseOf(c measure.ColumnSpec, unit string) (string, error) {
	var first error
	for _, base := range c.BaseUnits() {
		_, err := quantity.Convert(1, unit, base)
		if err == nil {
			return base, nil
		}
		if first == nil {
			first = err
		}
	}
	return "", first
}

// readRow reads "7065.3", "10 min: 7.0653 MHz" or, where a row has several
// columns, "-97 dBm; 0.52; 0.18".
func readRow(text string, columns []measure.ColumnSpec, unit string, earlier run.Series, now float64) (row run.Series, t Typed, err error) {
	t = Typed{Text: strings.TrimSpace(text), TimeS: now}
	readings := t.Text
	if i := strings.LastIndex(t.Text, ": "); i > 0 {
		if t.TimeS, err = measure.ParseNumber(t.Text[:i], "s"); err != nil {
			return row, t, fmt.Errorf("time before the colon: %w", err)
		}
		readings = strings.TrimSpace(t.Text[i+2:])
	}
	cells, err := cellsOf(readings, columns)
	if err != nil {
		return row, t, err
	}
	row.Columns = []run.Column{{Role: "time", Unit: "s", Values: []float64{t.TimeS}}}
	for i, c := range columns {
		bare := unit
		if i > 0 {
			bare = unitBefore(c, earlier.Column(c.Role))
		}
		col, err := readCell(cells[i], c, bare, earlier.Column(c.Role))
		if err != nil {
			return row, t, fmt.Errorf("%s%w", cellName(c, columns), err)
		}
		if i == 0 {
			col.Text = []string{t.Text}
			t.Value, t.Unit = col.Values[0], col.Unit
		}
		row.Columns = append(row.Columns, col)
	}
	return row, t, nil
}

// unitBefore is the unit of a bare reading in a column: the one typed last in a
// row before, so that 120 mV is followed by 130, not by 130 V.
func unitBefore(c measure.ColumnSpec, before *run.Column) string {
	if before == nil {
		return c.BareUnit()
	}
	for i := len(before.Text) - 1; i >= 0; i-- {
		if q, err := quantity.Parse(before.Text[i]); err == nil && q.Typed != "" {
			return q.Typed
		}
	}
	if before.Unit != c.Unit {
		return before.Unit
	}
	return c.BareUnit()
}

// cellName names a column where a row has several.
func cellName(c measure.ColumnSpec, columns []measure.ColumnSpec) string {
	if len(columns) == 1 {
		return ""
	}
	return c.Title + ": "
}

// cellsOf parts a typed row into its columns.
func cellsOf(text string, columns []measure.ColumnSpec) ([]string, error) {
	if text == "" {
		return nil, errors.New("nothing was typed: expected " + rowExample(columns))
	}
	if len(columns) == 1 {
		return []string{text}, nil
	}
	cells := strings.Split(text, ";")
	if len(cells) != len(columns) {
		return nil, fmt.Errorf("found %d reading(s), expected %d, parted by semicolons: %s", len(cells), len(columns), RowWords(columns))
	}
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return cells, nil
}

// rowExample says what a row looks like.
func rowExample(columns []measure.ColumnSpec) string {
	if len(columns) == 1 && columns[0].Unit == "Hz" {
		return "a reading, such as 7065.3"
	}
	if len(columns) == 1 {
		return "a reading of " + columns[0].Title
	}
	return "readings parted by semicolons: " + RowWords(columns)
}

// RowWords names the columns of a typed row: "input level; output with signal".
func RowWords(columns []measure.ColumnSpec) string {
	var names []string
	for _, c := range columns {
		names = append(names, c.Title)
	}
	return strings.Join(names, "; ")
}

// readCell reads one reading into a column of its own. A column is kept in one
// unit from its first row on.
func readCell(text string, c measure.ColumnSpec, unit string, before *run.Column) (run.Column, error) {
	q, err := quantity.ParseAs(text, unit)
	if err != nil {
		return run.Column{}, err
	}
	bases := c.BaseUnits()
	if before != nil {
		bases = []string{before.Unit}
	}
	var first error
	for _, base := range bases {
		x, err := q.In(base)
		if err == nil {
			return run.Column{Role: c.Role, Unit: base, Values: []float64{x}, Text: []string{text}, Resolution: q.Resolution}, nil
		}
		if first == nil {
			first = err
		}
	}
	return run.Column{}, first
}

// typedRow is a stored row as it was typed.
func typedRow(series run.Series, i int, timeS float64, struck bool) Typed {
	t := Typed{Row: i, TimeS: timeS, Struck: struck}
	for k := len(series.Columns) - 1; k >= 0; k-- {
		if c := series.Columns[k]; c.Role != "time" {
			t.Value, t.Unit = c.Values[i], c.Unit
			if c.Text != nil {
				t.Text = c.Text[i]
			}
		}
	}
	return t
}
