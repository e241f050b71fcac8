package intake

import (
	"bytes"
	"math"
	"strings"
)

// batchRows is how many rows a batch holds at most.
const batchRows = 4096

// interpreter turns rows of cells into a batch, by a layout. Preview and import
// use the same one.
type interpreter struct {
	file     string
	lay      *Layout
	time     *timeColumn // nil where no time is wanted
	columns  []numberColumn
	batch    Batch
	rep      *Report
	problems Problems

	comment  []byte
	values   []float64
	lastTime float64
	width    int // columns of the table, headings counted
}

// newInterpreter prepares the columns of a layout.
func newInterpreter(file string, lay *Layout) *interpreter {
	in := &interpreter{file: file, lay: lay, rep: &Report{File: file}, width: len(lay.Columns),
		comment: []byte(lay.Comment.Value), lastTime: math.Inf(-1)}
	format := lay.numFormat()
	missing := append(append([]string{}, defaultMissing...), lay.Missing...)
	in.makeColumns(format, missing)
	timeCol, dateCol := lay.Column(RoleTime), lay.Column(RoleDate)
	if timeCol == nil && lay.SpacingS == 0 {
		return in
	}
	t := &timeColumn{index: -1, dateIndex: -1, form: TimeIndex, spacing: lay.SpacingS, missing: missing,
		order: dateOrder(lay.DateOrder.Value)}
	in.time = t
	if timeCol != nil {
		t.index, t.form = timeCol.Number-1, timeCol.TimeForm.Value
		u, ok := lookUpUnit(timeCol.Unit.Value, "s")
		t.hasBare = ok
		if !ok {
			u = unit{name: "s", base: "s", mul: 1}
		}
		if t.form == TimeIndex {
			u = unit{name: "1", base: "1", mul: 1}
		}
		t.number = numberColumn{format: format, missing: missing, base: u.base, unit: u,
			hasUnit: t.hasBare || t.form == TimeIndex,
			rep:     &ColumnReport{Number: timeCol.Number, Role: RoleTime, Min: math.Inf(1), Max: math.Inf(-1)}}
	}
	if dateCol != nil {
		t.dateIndex = dateCol.Number - 1
	}
	if start, err := parseStart(lay.Start.Value); err == nil {
		t.start = &start
	}
	return in
}

// makeColumns prepares the columns of quantities.
func (in *interpreter) makeColumns(format numFormat, missing []string) {
	wanted := make([]Column, 0, len(in.lay.Columns))
	for _, c := range in.lay.Columns {
		switch c.Role.Value {
		case RoleTime, RoleDate, RoleIgnore, "":
		default:
			wanted = append(wanted, c)
		}
	}
	in.rep.Columns = make([]ColumnReport, len(wanted))
	in.columns = make([]numberColumn, len(wanted))
	in.values = make([]float64, len(wanted))
	in.batch.Columns = make([][]float64, len(wanted))
	for i, c := range wanted {
		in.rep.Columns[i] = ColumnReport{Number: c.Number, Role: c.Role.Value, Header: c.Header, BaseUnit: c.BaseUnit,
			Min: math.Inf(1), Max: math.Inf(-1)}
		u, ok := lookUpUnit(c.Unit.Value, c.BaseUnit)
		if !ok {
			u = unit{name: c.BaseUnit, base: c.BaseUnit, mul: 1}
		}
		in.columns[i] = numberColumn{index: c.Number - 1, format: format, missing: missing, base: c.BaseUnit, unit: u,
			hasUnit: ok, steady: c.Steady, rep: &in.rep.Columns[i]}
	}
}

// row takes one line or row of the source.
func (in *interpreter) row(r rowReader, at row) {
	if at.raw != nil {
		body := trim(at.raw)
		if len(body) == 0 {
			in.rep.Blank++
			return
		}
		if at.line < in.lay.FirstDataLine || in.isComment(body) {
			if at.line != in.lay.HeaderLine && at.line != in.lay.UnitsLine {
				in.rep.note(at.line, body)
			}
			return
		}
	}
	cells := r.cells()
	if at.raw == nil {
		if at.line < in.lay.FirstDataLine {
			return
		}
		if blankCells(cells) {
			in.rep.Blank++
			return
		}
		if in.isComment(cells[0]) {
			in.rep.note(at.line, bytes.Join(cells, []byte(" ")))
			return
		}
	}
	if in.lay.Separator.Value == SepNotes && in.remark(cells) {
		in.rep.note(at.line, at.raw)
		return
	}
	in.cells(at.line, cells)
}

// remark says that a line of notes holds no reading: no number, or neither a time
// nor a number that could be one ("mains 231 V").
func (in *interpreter) remark(cells [][]byte) bool {
	if len(cells[1]) == 0 {
		return true
	}
	if len(cells[0]) > 0 || len(in.columns) == 0 {
		return false
	}
	c := &in.columns[0]
	_, took := scanNumber(cells[1], c.format, 0)
	_, known := c.ownUnit(trim(cells[1][took:]))
	return took != len(cells[1]) && !known
}

func (in *interpreter) isComment(body []byte) bool {
	return len(in.comment) > 0 && bytes.HasPrefix(body, in.comment)
}

func blankCells(cells [][]byte) bool {
	for _, c := range cells {
		if len(c) > 0 {
			return false
		}
	}
	return true
}

// cells takes the cells of one row of readings.
func (in *interpreter) cells(line int, cells [][]byte) {
	if len(cells) > in.width && in.tooMany(line, cells) {
		return
	}
	any := false
	for i := range in.columns {
		c := &in.columns[i]
		var cell []byte
		if c.index < len(cells) {
			cell = cells[c.index]
		}
		v, state := c.read(cell)
		if state == cellBad {
			in.bad(line, cells, func() Problem { return c.complain(cell) })
			return
		}
		any = any || state == cellOK
		in.values[i] = v
	}
	if in.time == nil {
		in.keep(line, 0)
		return
	}
	t, state := in.time.read(cells)
	switch state {
	case cellBad:
		in.bad(line, cells, func() Problem { return in.time.complain(cells) })
	case cellMissing:
		if any {
			in.rep.SetAside.add(func() Problem { return in.at(line, Problem{Found: "a row without a time"}) })
		} else {
			in.rep.Blank++
		}
	default:
		in.order(line, t)
		in.keep(line, t)
	}
}

// keep appends the row to the batch.
func (in *interpreter) keep(line int, t float64) {
	b := &in.batch
	b.Lines = append(b.Lines, line)
	if in.time != nil {
		b.Time = append(b.Time, t)
	}
	for i, v := range in.values {
		b.Columns[i] = append(b.Columns[i], v)
	}
	in.rep.Rows++
}

// order notes repeated and backward times.
func (in *interpreter) order(line int, t float64) {
	before := in.lastTime
	in.lastTime = t
	switch {
	case t > before:
	case t == before:
		in.rep.Repeated.add(func() Problem { return in.at(line, Problem{Found: "the time of the row above"}) })
	default:
		in.rep.Backwards.add(func() Problem { return in.at(line, backwards(in.time, t, before)) })
	}
}

// tooMany complains about a row with filled cells beyond the table's width.
func (in *interpreter) tooMany(line int, cells [][]byte) bool {
	filled := len(cells)
	for filled > in.width && len(cells[filled-1]) == 0 {
		filled--
	}
	if filled == in.width {
		return false
	}
	p := Problem{Found: count(filled, "cell", "cells"), Expected: itoa(in.width), Advice: "take out what stands beyond, or mark the line as a comment with #"}
	if in.lay.Separator.Value == SepComma {
		p.Advice = "is the comma the decimal mark here? then write another separator, or put such cells in quotation marks"
	}
	in.problems.add(in.at(line, p))
	return true
}

// bad adds the problem of a row, unless the row is the headings over again.
func (in *interpreter) bad(line int, cells [][]byte, what func() Problem) {
	if in.isHeading(cells) {
		in.rep.Restarts.add(func() Problem { return in.at(line, Problem{Found: "the headings again"}) })
		return
	}
	if len(in.problems.List) >= maxProblems {
		in.problems.Total++
		return
	}
	in.problems.add(in.at(line, what()))
}

// isHeading compares a row with the headings.
func (in *interpreter) isHeading(cells [][]byte) bool {
	same := 0
	for i, c := range in.lay.Columns {
		if c.Header == "" || i >= len(cells) {
			continue
		}
		if !strings.EqualFold(c.Header, string(cells[i])) {
			return false
		}
		same++
	}
	return same > 0
}

func (in *interpreter) at(line int, p Problem) Problem {
	p.File, p.Line = in.file, line
	return p
}

// finish completes the report.
func (in *interpreter) finish() {
	r := in.rep
	for i := range r.Columns {
		if math.IsInf(r.Columns[i].Min, 0) {
			r.Columns[i].Min, r.Columns[i].Max = 0, 0
		}
	}
	if t := in.time; t != nil {
		r.TimeForm = t.form
		r.TimeStep = t.step
		if t.form == TimeNumber && t.number.rep != nil {
			r.TimeStep = t.number.rep.Resolution
		}
		r.Start, r.Zoned = t.origin()
		if r.Rows > 0 && !math.IsInf(in.lastTime, 0) {
			r.TimeLast = in.lastTime
		}
	}
	r.warn()
}
