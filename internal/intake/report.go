package intake

import (
	"fmt"
	"time"
)

// Batch is some thousands of rows, column by column, in base units. The slices
// are reused: a sink that keeps them copies them.
type Batch struct {
	// Lines holds the line (in a spreadsheet the row) of each reading.
	Lines []int
	// Time is in seconds from the zero of the log; nil where none was wanted.
	Time []float64
	// Columns are the wanted columns in the order of [Report.Columns]; NaN is a
	// missing cell.
	Columns [][]float64
}

// Len is the number of rows.
func (b *Batch) Len() int { return len(b.Lines) }

func (b *Batch) reset() {
	b.Lines = b.Lines[:0]
	b.Time = b.Time[:0]
	for i := range b.Columns {
		b.Columns[i] = b.Columns[i][:0]
	}
}

// ColumnReport says what was read in one column.
type ColumnReport struct {
	Number     int     `json:"number"`
	Role       string  `json:"role"`
	Header     string  `json:"header,omitempty"`
	BaseUnit   string  `json:"base_unit"`
	Missing    int     `json:"missing"`
	Decimals   int     `json:"decimals"`   // most digits after the mark, as typed
	Resolution float64 `json:"resolution"` // smallest last digit typed, in the base unit; 0: no reading
	Min        float64 `json:"min"`
	Max        float64 `json:"max"`
	OwnUnits   int     `json:"own_units,omitempty"` // cells that say another unit than the column
}

// Places counts something and keeps the first ten places of it.
type Places struct {
	Count int       `json:"count"`
	First []Problem `json:"first,omitempty"`
}

func (p *Places) add(one func() Problem) {
	p.Count++
	if len(p.First) < maxProblems {
		p.First = append(p.First, one())
	}
}

// Comment is a comment line or a line of plain words, which often says what was
// done at that moment.
type Comment struct {
	Line int    `json:"line"`
	Text string `json:"text"`
}

const maxComments = 100

// Report says what an import found.
type Report struct {
	File      string         `json:"file"`
	Rows      int            `json:"rows"`
	Blank     int            `json:"blank"`                // empty lines
	Comments  int            `json:"comments"`             // comment lines
	Notes     []Comment      `json:"notes,omitempty"`      // the first hundred of them
	SetAside  Places         `json:"set_aside,omitzero"`   // rows without a time
	Repeated  Places         `json:"repeated,omitzero"`    // rows with the time of the row before; kept
	Backwards Places         `json:"backwards,omitzero"`   // rows with a time before the row before; kept
	Restarts  Places         `json:"restarts,omitzero"`    // heading rows among the readings
	Start     *time.Time     `json:"start,omitempty"`      // moment of time zero, where known
	Zoned     bool           `json:"zoned,omitempty"`      // Start has a stated zone
	TimeForm  string         `json:"time_form,omitempty"`  // form of the time column
	TimeLast  float64        `json:"time_last,omitempty"`  // last time, s
	TimeStep  float64        `json:"time_digit,omitempty"` // smallest last digit of the times, s
	Columns   []ColumnReport `json:"columns"`
	Warnings  []string       `json:"warnings,omitempty"` // each one line for a person
	CutOff    bool           `json:"cut_off,omitempty"`  // the last line has no line end
}

// Column is the report of the column with a role; nil if there is none.
func (r *Report) Column(role string) *ColumnReport {
	for i := range r.Columns {
		if r.Columns[i].Role == role {
			return &r.Columns[i]
		}
	}
	return nil
}

// note keeps a comment line.
func (r *Report) note(line int, text []byte) {
	r.Comments++
	if len(r.Notes) < maxComments {
		r.Notes = append(r.Notes, Comment{line, string(text[:min(len(text), 500)])})
	}
}

// warn writes the warnings, once all is read.
func (r *Report) warn() {
	say := func(format string, args ...any) { r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...)) }
	if r.Repeated.Count > 0 {
		say("%s the time of the row before (kept), first at line %d", count(r.Repeated.Count, "row has", "rows have"), r.Repeated.First[0].Line)
	}
	if r.Backwards.Count > 0 {
		say("time runs backwards in %s, first at line %d: %s", count(r.Backwards.Count, "place", "places"), r.Backwards.First[0].Line, r.Backwards.First[0].Found)
	}
	if r.SetAside.Count > 0 {
		say("%s no time and cannot be placed, first at line %d", count(r.SetAside.Count, "row has", "rows have"), r.SetAside.First[0].Line)
	}
	if r.Restarts.Count > 0 {
		say("the headings stand again among the readings (%s, first at line %d): was the log started anew?", count(r.Restarts.Count, "time", "times"), r.Restarts.First[0].Line)
	}
	for _, c := range r.Columns {
		if c.Missing > 0 {
			say("column %d (%s): %s missing", c.Number, c.Role, count(c.Missing, "cell is", "cells are"))
		}
		if c.OwnUnits > 0 {
			say("column %d (%s): %s own unit, each was converted", c.Number, c.Role, count(c.OwnUnits, "cell says its", "cells say their"))
		}
	}
	if r.CutOff {
		say("the last line has no line end: if the log was cut off, its last reading may be short of digits")
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
