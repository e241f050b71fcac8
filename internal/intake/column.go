package intake

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
)

// cellState is the outcome of reading one cell.
type cellState uint8

const (
	cellOK cellState = iota
	cellMissing
	cellBad
)

// defaultMissing are cell texts that mean "no reading" without being told.
var defaultMissing = []string{"-", "--", "---", "–", "—", "n/a", "na", "n.a.", "none", "null", "?", "*", "...", "…"}

// isMissing says that a cell holds one of the marks for "no reading".
func isMissing(cell []byte, marks []string) bool {
	if len(cell) == 0 {
		return true
	}
	if len(cell) > 12 || isDigit(cell[0]) && len(marks) == len(defaultMissing) {
		return false
	}
	for _, m := range marks {
		if len(m) <= len(cell) && bytes.EqualFold(cell, []byte(m)) {
			return true
		}
	}
	return false
}

// numberColumn reads the cells of one column of quantities.
type numberColumn struct {
	index   int // of the cell, from 0
	format  numFormat
	missing []string
	base    string
	unit    unit // of bare numbers
	hasUnit bool // false: each cell must say its own
	steady  bool
	rep     *ColumnReport

	reference float64 // first reading of a steady column
	own       unit    // unit last found in a cell
	ownText   []byte
}

// read converts one cell to the base unit.
func (c *numberColumn) read(cell []byte) (float64, cellState) {
	if len(cell) == 0 {
		c.rep.Missing++
		return math.NaN(), cellMissing
	}
	n, took := scanNumber(cell, c.format, c.unit.pow10)
	if took != len(cell) || !c.hasUnit {
		return c.readMarked(cell, took)
	}
	return c.take(n, c.unit)
}

// take notes digits and range of a number scanned with u's power of ten.
func (c *numberColumn) take(n number, u unit) (float64, cellState) {
	v := n.value
	if !u.exact() {
		v = v*u.mul + u.add
	}
	r := c.rep
	if n.decimals > r.Decimals || r.Resolution == 0 || u.pow10 != c.unit.pow10 {
		r.Decimals = max(r.Decimals, n.decimals)
		if res := n.resolution(u.pow10) * math.Abs(u.mul); r.Resolution == 0 || res < r.Resolution {
			r.Resolution = res
		}
	}
	if c.steady && c.jumpsUnit(v) {
		return v, cellBad
	}
	if v < r.Min {
		r.Min = v
	}
	if v > r.Max {
		r.Max = v
	}
	return v, cellOK
}

// readMarked reads a cell that is more than a bare number: one with its own
// unit, or a mark for a missing reading.
func (c *numberColumn) readMarked(cell []byte, took int) (float64, cellState) {
	rest := trim(cell[took:])
	if took == 0 || len(rest) == 0 {
		if isMissing(cell, c.missing) {
			c.rep.Missing++
			return math.NaN(), cellMissing
		}
		return math.NaN(), cellBad
	}
	u, ok := c.ownUnit(rest)
	if !ok {
		return math.NaN(), cellBad
	}
	n, took := scanNumber(cell, c.format, u.pow10)
	if took == 0 {
		return math.NaN(), cellBad
	}
	if c.hasUnit && u.name != c.unit.name {
		c.rep.OwnUnits++
	}
	return c.take(n, u)
}

// ownUnit looks up the unit in a cell, remembering the last one.
func (c *numberColumn) ownUnit(text []byte) (unit, bool) {
	if bytes.Equal(text, c.ownText) && len(text) > 0 {
		return c.own, true
	}
	if len(text) > 16 {
		return unit{}, false
	}
	u, ok := lookUpUnit(string(text), c.base)
	if ok {
		c.own, c.ownText = u, append(c.ownText[:0], text...)
	}
	return u, ok
}

// jumpsUnit says that a steady column's value is a thousand or a million times
// another than before: not a reading but another unit.
func (c *numberColumn) jumpsUnit(v float64) bool {
	if c.reference == 0 {
		c.reference = v
		return false
	}
	ratio := math.Abs(v / c.reference)
	if ratio < 900 && ratio > 1.0/900 {
		return false
	}
	if ratio < 1 {
		ratio = 1 / ratio
	}
	return math.Abs(ratio/1e3-1) < 0.05 || math.Abs(ratio/1e6-1) < 0.05
}

// complain says what is wrong with a cell that read called bad.
func (c *numberColumn) complain(cell []byte) Problem {
	p := Problem{Column: c.rep.Number, ColumnName: c.rep.Role, Found: quote(cell), Expected: "a number in " + c.unit.shown()}
	if !c.hasUnit {
		p.Expected = "a number with its unit"
	}
	n, took := scanNumber(cell, c.format, c.unit.pow10)
	rest := trim(cell[took:])
	switch {
	case notFinite(cell):
		p.Expected = "a finite number"
		p.Advice = "if it stands for no reading, say so (--missing " + string(bytes.ToLower(cell)) + ")"
	case took > 0 && len(rest) == 0 && !c.hasUnit:
		p.Advice = fmt.Sprintf("other cells of this column say theirs; fix one unit for bare numbers (--column %d=%s:%s)", c.rep.Number, c.rep.Role, c.base)
	case took > 0 && len(rest) == 0 && math.IsInf(n.value, 0):
		p.Expected = "a finite number"
	case took > 0 && (len(rest) == 0 || c.knows(rest)):
		p.Found += " after " + trimFloat(c.reference/c.unit.scale()) + " " + c.unit.shown()
		p.Expected = "one unit in the whole column"
		p.Advice = "write the unit into each cell, or split the log where it changes"
	case took > 0 && bytes.IndexByte(cell, ',') >= 0 && c.format.decimal == '.':
		p.Advice = "if the comma is the decimal mark, say so (--decimal comma)"
	case took > 0 && bytes.IndexByte(cell, '.') >= 0 && c.format.decimal == ',':
		p.Advice = "if the point is the decimal mark, say so (--decimal point)"
	case took > 0:
		if _, known := lookUpUnit(string(rest[:min(len(rest), 16)]), ""); known {
			p.Expected = "a unit that converts to " + c.base
		}
	default:
		p.Advice = "take it out, or mark the line as a comment with #"
	}
	return p
}

func (c *numberColumn) knows(rest []byte) bool {
	_, ok := lookUpUnit(string(rest[:min(len(rest), 16)]), c.base)
	return ok
}

// trimFloat writes a number as people do: twelve digits at most, and no power
// of ten where it can be helped.
func trimFloat(v float64) string {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 12, 64), 64)
	if size := math.Abs(short); err != nil || size != 0 && (size < 1e-6 || size >= 1e15) {
		return strconv.FormatFloat(v, 'g', 6, 64)
	}
	return strconv.FormatFloat(short, 'f', -1, 64)
}

// notFinite recognises the ways programs write "not a number" and "infinite".
func notFinite(cell []byte) bool {
	s := bytes.ToLower(bytes.TrimLeft(cell, "+-"))
	for _, w := range []string{"nan", "inf", "infinity", "∞", "1.#inf", "1.#qnan", "1.#ind", "#nan", "#inf", "qnan"} {
		if string(s) == w {
			return true
		}
	}
	return false
}
