package workshop

import (
	"context"
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"

	"setwright/internal/run"
)

// Sheet is a stretch of a run's raw readings, as they were taken, with what was
// struck out marked.
type Sheet struct {
	Columns []run.Column // without values: role and unit
	Rows    []SheetRow
	First   int // 0-based row of the first
	Total   int
}

// SheetRow is one row of readings. A missing cell is NaN.
type SheetRow struct {
	Row    int // 0-based
	Values []float64
	Text   []string // as typed, empty where only the number is known
	Struck bool
}

// Readings returns up to n raw readings of a run from the given row on.
func (s *Shop) Readings(ctx context.Context, runID string, first, n int) (Sheet, error) {
	sheet := Sheet{First: max(0, first)}
	struck, err := s.struck(ctx, runID)
	if err != nil {
		return sheet, err
	}
	if sheet.Total, err = s.Book.Readings(ctx, runID); err != nil {
		return sheet, err
	}
	err = s.Book.EachChunk(ctx, runID, func(at int, part run.Series) error {
		sheet.head(part)
		for i := max(0, sheet.First-at); i < part.Len() && len(sheet.Rows) < n; i++ {
			sheet.Rows = append(sheet.Rows, sheetRow(part, i, at+i, struck))
		}
		return nil
	})
	return sheet, err
}

// head takes over the columns of the first part.
func (s *Sheet) head(part run.Series) {
	if s.Columns != nil {
		return
	}
	for _, c := range part.Columns {
		s.Columns = append(s.Columns, run.Column{Role: c.Role, Unit: c.Unit, Resolution: c.Resolution})
	}
}

func sheetRow(part run.Series, i, row int, struck map[int]bool) SheetRow {
	out := SheetRow{Row: row, Struck: struck[row]}
	for _, c := range part.Columns {
		text := ""
		if c.Text != nil {
			text = c.Text[i]
		}
		out.Values, out.Text = append(out.Values, c.Values[i]), append(out.Text, text)
	}
	return out
}

// struck returns the rows of a run that its amendments strike out.
func (s *Shop) struck(ctx context.Context, runID string) (map[int]bool, error) {
	amendments, err := s.Book.Amendments(ctx, runID)
	if err != nil {
		return nil, err
	}
	out := map[int]bool{}
	for _, a := range amendments {
		switch a.Kind {
		case run.AmendStrike:
			out[a.Row] = true
		case run.AmendRestore:
			delete(out, a.Row)
		}
	}
	return out, nil
}

// WriteReadings writes the raw readings of a run as comma-separated values: the
// number of the reading, one column for each quantity with its unit in the
// heading, what was typed where that was kept, and whether it was struck out.
// Missing cells are empty.
func (s *Shop) WriteReadings(ctx context.Context, runID string, w io.Writer) error {
	struck, err := s.struck(ctx, runID)
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	headed := false
	err = s.Book.EachChunk(ctx, runID, func(at int, part run.Series) error {
		if !headed {
			headed = true
			if err := out.Write(csvHead(part)); err != nil {
				return err
			}
		}
		for i := range part.Len() {
			if err := out.Write(csvRow(sheetRow(part, i, at+i, struck), part)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	out.Flush()
	return out.Error()
}

func csvHead(part run.Series) []string {
	head := []string{"reading"}
	for _, c := range part.Columns {
		head = append(head, c.Role+" ("+c.Unit+")")
		if c.Text != nil {
			head = append(head, c.Role+" as typed")
		}
	}
	return append(head, "struck out")
}

func csvRow(row SheetRow, part run.Series) []string {
	out := []string{strconv.Itoa(row.Row + 1)}
	for i, c := range part.Columns {
		cell := ""
		if !math.IsNaN(row.Values[i]) {
			cell = strconv.FormatFloat(row.Values[i], 'f', -1, 64)
		}
		out = append(out, cell)
		if c.Text != nil {
			out = append(out, plainCell(row.Text[i]))
		}
	}
	if row.Struck {
		return append(out, "yes")
	}
	return append(out, "")
}

// plainCell keeps a spreadsheet from taking a typed text for a formula.
func plainCell(text string) string {
	if strings.HasPrefix(text, "=") || strings.HasPrefix(text, "@") {
		return "'" + text
	}
	return text
}
