package intake

import (
	"fmt"
	"time"
)

// Guess is one item of a layout: what is taken, whether that is certain, and
// why. Given marks an item that the user fixed.
type Guess struct {
	Value   string `json:"value"`
	Certain bool   `json:"certain"`
	Given   bool   `json:"given,omitempty"`
	Why     string `json:"why"`
}

func sure(value, why string) Guess   { return Guess{Value: value, Certain: true, Why: why} }
func unsure(value, why string) Guess { return Guess{Value: value, Why: why} }
func given(value string) Guess {
	return Guess{Value: value, Certain: true, Given: true, Why: "as you said"}
}

// Values of the items of a layout.
const (
	FormatText = "text"
	FormatXLSX = "xlsx"
	FormatODS  = "ods"

	SepComma     = "comma"
	SepSemicolon = "semicolon"
	SepTab       = "tab"
	SepPipe      = "pipe"
	SepSpace     = "space"
	SepNone      = "none"  // one column
	SepNotes     = "notes" // lines such as "after 10 min 7.0653 MHz"
	SepCells     = "cells" // a spreadsheet

	MarkPoint      = "point"
	MarkComma      = "comma"
	MarkSpace      = "space" // blanks or apostrophes between thousands
	MarkNone       = "none"
	MarkApostrophe = "apostrophe"
)

// Roles that every import knows; any other role is the id of a [ColumnSpec].
const (
	RoleTime   = "time"
	RoleDate   = "date"   // the date of a clock time in the time column
	RoleIgnore = "ignore" // left alone; stays in the original file
)

// Forms of the time column.
const (
	TimeNumber     = "number"     // elapsed, in the column's unit
	TimeElapsed    = "elapsed"    // h:mm:ss, mm:ss, 14m20s, 10 min
	TimeElapsedHM  = "elapsed_hm" // h:mm
	TimeClock      = "clock"      // time of day
	TimeStamp      = "stamp"      // date and time of day
	TimeUnix       = "unix"       // seconds since 1970
	TimeUnixMillis = "unix_ms"    // milliseconds since 1970
	TimeIndex      = "index"      // number of the reading × spacing
)

// timeForms lists the forms with the words they are explained by.
var timeForms = map[string]string{
	TimeNumber: "a number", TimeElapsed: "a time such as 14:20, 1:05:00 or 14m20s",
	TimeElapsedHM: "a time such as 1:05 (hours and minutes)", TimeClock: "a time of day such as 19:05:30",
	TimeStamp: "a date and time such as 2024-05-01 19:05:30", TimeUnix: "seconds since 1970",
	TimeUnixMillis: "milliseconds since 1970", TimeIndex: "the number of the reading",
}

// Column is what one column of the source is taken for.
type Column struct {
	Number   int      `json:"number"` // from 1, as in messages and overrides
	Header   string   `json:"header,omitempty"`
	Role     Guess    `json:"role"`
	Unit     Guess    `json:"unit"`                // of bare numbers; "" where each cell says its own
	BaseUnit string   `json:"base_unit,omitempty"` // what [Batch] carries
	TimeForm Guess    `json:"time_form,omitzero"`  // of the time column
	Sample   []string `json:"sample,omitempty"`    // first cells as they stand
	Steady   bool     `json:"steady,omitempty"`    // values stay near each other, see [ColumnSpec]
}

// Layout is how a source is read.
type Layout struct {
	Format        Guess      `json:"format"`
	Encoding      Guess      `json:"encoding"`
	Sheet         Guess      `json:"sheet,omitzero"`
	Sheets        []string   `json:"sheets,omitempty"` // those there are
	Separator     Guess      `json:"separator"`
	Decimal       Guess      `json:"decimal"`
	Thousands     Guess      `json:"thousands"`
	Comment       Guess      `json:"comment"`
	Head          Guess      `json:"head"`                  // the headings, in words
	HeaderLine    int        `json:"header_line,omitempty"` // 0: none
	UnitsLine     int        `json:"units_line,omitempty"`  // 0: none
	FirstDataLine int        `json:"first_data_line"`
	DateOrder     Guess      `json:"date_order,omitzero"`
	Spacing       Guess      `json:"spacing,omitzero"` // between readings without a time
	SpacingS      float64    `json:"spacing_s,omitempty"`
	Start         Guess      `json:"start,omitzero"` // zero of times, where given
	StartTime     *time.Time `json:"start_time,omitempty"`
	Missing       []string   `json:"missing,omitempty"` // cell texts that mean "no reading", in lower case
	Columns       []Column   `json:"columns"`
}

// Column is the column with a role; nil if there is none.
func (l *Layout) Column(role string) *Column {
	for i := range l.Columns {
		if l.Columns[i].Role.Value == role {
			return &l.Columns[i]
		}
	}
	return nil
}

// Doubts are the items of a layout that are guessed and not certain, each as a
// line for a person.
func (l *Layout) Doubts() []string {
	var out []string
	note := func(what string, g Guess) {
		if g.Value != "" && !g.Certain {
			out = append(out, what+" taken as "+g.Value+": "+g.Why)
		}
	}
	note("encoding", l.Encoding)
	note("separator", l.Separator)
	note("decimal mark", l.Decimal)
	note("thousands mark", l.Thousands)
	note("headings", l.Head)
	note("order of dates", l.DateOrder)
	note("spacing of readings", l.Spacing)
	for _, c := range l.Columns {
		if c.Role.Value == RoleIgnore {
			continue
		}
		name := columnLabel(c)
		note(name, c.Role)
		note("unit of "+name, c.Unit)
		note("form of "+name, c.TimeForm)
	}
	return out
}

// columnLabel names a column for a person.
func columnLabel(c Column) string {
	if c.Header != "" {
		return "column " + itoa(c.Number) + " (" + c.Header + ")"
	}
	return "column " + itoa(c.Number)
}

func (l *Layout) numFormat() numFormat {
	f := numFormat{decimal: '.'}
	if l.Decimal.Value == MarkComma {
		f.decimal = ','
	}
	switch l.Thousands.Value {
	case MarkComma:
		f.thousands = ','
	case MarkPoint:
		f.thousands = '.'
	}
	switch l.Separator.Value { // a blank beside these would rather part cells
	case SepSpace, SepNotes, SepComma:
	default:
		f.spaced = true
	}
	return f
}

// check refuses a layout that no inspection gives, such as one altered on its way
// through a page.
func (l *Layout) check() error {
	if len(l.Columns) == 0 || len(l.Columns) > maxColumns {
		return fmt.Errorf("intake: a layout of %d columns", len(l.Columns))
	}
	if l.Separator.Value == SepNotes && len(l.Columns) != 2 {
		return fmt.Errorf("intake: notes have two columns, not %d", len(l.Columns))
	}
	for _, c := range l.Columns {
		if c.Number < 1 || c.Number > len(l.Columns) {
			return fmt.Errorf("intake: column number %d in a layout of %d columns", c.Number, len(l.Columns))
		}
		if _, known := timeForms[c.TimeForm.Value]; c.Role.Value == RoleTime && !known {
			return fmt.Errorf("intake: column %d has no known form of time", c.Number)
		}
		if _, known := lookUpUnit(c.BaseUnit, ""); !known && c.Role.Value != RoleIgnore && c.Role.Value != RoleDate {
			return fmt.Errorf("intake: column %d has no base unit", c.Number)
		}
	}
	return nil
}
