package intake

import (
	"bytes"
	"fmt"
)

// separatorWords name the separators for a person.
var separatorWords = map[string]string{SepComma: "commas", SepSemicolon: "semicolons", SepTab: "tabs", SepPipe: "upright strokes",
	SepSpace: "blanks", SepNone: "nothing: there is one column", SepNotes: "words, as in notes", SepCells: "the cells of the sheet"}

// describe writes the dialect into a layout, with reasons.
func (d *dialect) describe(lay *Layout, t table, o Override) {
	fit := 0.0
	for _, k := range t.kinds[d.first:] {
		fit += d.fits(k)
	}
	share := int(100*fit/float64(len(t.kinds)-d.first) + 0.5)
	why := fmt.Sprintf("columns are parted by %s in %d %% of the lines of readings looked at", separatorWords[d.separator], share)
	if d.columns == 1 && d.separator != SepCells {
		d.separator = SepNone
		why = "there is one column"
	}
	lay.Separator = Guess{Value: d.separator, Certain: share > 80 && d.separator != SepNotes, Why: why}
	if d.separator == SepNotes {
		lay.Separator.Why = "the lines read like notes: a time and one reading each"
	}
	if o.Separator != "" {
		lay.Separator = given(d.separator)
	}
	d.describeMarks(lay, t, o)
}

// describeMarks explains the decimal and thousands marks by what was seen.
func (d *dialect) describeMarks(lay *Layout, t table, o Override) {
	points, commas, doubtful := marksSeen(t, d)
	lay.Thousands = sure(d.thousands, "no mark parts thousands")
	switch {
	case d.thousands != MarkNone:
		lay.Thousands = sure(d.thousands, "numbers hold groups of three digits parted by a "+d.thousands)
		lay.Decimal = sure(d.decimal, "the other mark parts thousands")
	case d.decimal == MarkComma:
		lay.Decimal = sure(MarkComma, fmt.Sprintf("%s a comma and none a point that fits", count(commas, "number holds", "numbers hold")))
		if doubtful == commas {
			lay.Decimal = unsure(MarkComma, "every number with a comma has three digits after it, which could also be thousands")
		}
	case points == 0:
		lay.Decimal = sure(MarkPoint, "no number has decimals")
	default:
		lay.Decimal = sure(MarkPoint, fmt.Sprintf("%s a point", count(points, "number holds", "numbers hold")))
		if doubtful == points && d.separator == SepSemicolon {
			lay.Decimal = unsure(MarkPoint, "every number with a point has three digits after it, which could also be thousands")
		}
	}
	if k := t.kinds[d.first]; d.separator == SepComma && points == 0 && len(k) == 2 && k[0] == kindNumber && k[1] == kindNumber && d.first == 0 && o.Separator == "" {
		lay.Separator.Certain = false
		lay.Separator.Why += "; the comma could also be the decimal mark of a single column"
	}
	if o.Decimal != "" {
		lay.Decimal = given(o.Decimal)
	}
	if o.Thousands != "" {
		lay.Thousands = given(o.Thousands)
	}
}

// marksSeen counts cells that hold a point, a comma, and how many of them could
// be whole numbers with a thousands mark.
func marksSeen(t table, d *dialect) (points, commas, doubtful int) {
	for i, row := range t.cells {
		for j, c := range row {
			if k := t.kinds[i][j]; k != kindNumber && k != kindQuantity {
				continue
			}
			p, q := bytes.IndexByte(c, '.'), bytes.IndexByte(c, ',')
			if p >= 0 {
				points++
			}
			if q >= 0 {
				commas++
			}
			at := max(p, q)
			if at >= 1 && at <= 3 && threeDigits(c[at+1:]) && c[0] != '0' {
				doubtful++
			}
		}
	}
	return points, commas, doubtful
}

// commaIsDecimal decides lines such as "7065,31", which are two whole numbers or
// one with a decimal comma: two columns want a first one that runs upwards, as a
// time does, or a heading with a comma of its own.
func commaIsDecimal(d *dialect, t table) bool {
	if d.separator != SepComma || d.columns != 2 {
		return false
	}
	points, _, _ := marksSeen(t, d)
	if points > 0 || d.first < 0 || d.first > 0 && len(t.cells[d.first-1]) == 2 {
		return false
	}
	upwards := true
	last, rows := 0.0, 0
	for i, k := range t.kinds {
		if len(k) != 2 || k[0] != kindNumber {
			continue
		}
		if k[1] != kindNumber || len(t.cells[i][1]) == 0 || !isDigit(t.cells[i][1][0]) {
			return false
		}
		n, _ := scanNumber(t.cells[i][0], numFormat{decimal: '.'}, 0)
		upwards = upwards && (rows == 0 || n.value > last)
		last = n.value
		rows++
	}
	return rows > 1 && !upwards
}
