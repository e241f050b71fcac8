package intake

import (
	"bytes"
)

// dialect is one way to cut lines into cells and to read numbers.
type dialect struct {
	separator, decimal, thousands string
	score                         float64
	cost                          float64 // of columns of words, taken off the score
	columns                       int
	first                         int // index of the first line of readings, -1: none
	text                          []bool
}

func (d *dialect) layout() *Layout {
	return &Layout{Separator: sure(d.separator, ""), Decimal: sure(d.decimal, ""), Thousands: sure(d.thousands, "")}
}

// candidates lists the dialects in order of preference, as far as the user
// leaves them open. In quotation marks a comma may be a mark beside commas that
// part the cells.
func candidates(o Override, quoted bool) []dialect {
	var out []dialect
	for _, marks := range [][2]string{{MarkPoint, MarkNone}, {MarkComma, MarkNone}, {MarkPoint, MarkComma}, {MarkComma, MarkPoint}} {
		for _, sep := range []string{SepTab, SepSemicolon, SepPipe, SepComma, SepSpace, SepNone} {
			d := dialect{separator: sep, decimal: marks[0], thousands: marks[1]}
			if o.Separator != "" {
				if sep != SepTab {
					continue // once is enough
				}
				d.separator = o.Separator
			}
			if o.Decimal != "" && o.Decimal != d.decimal {
				continue
			}
			if o.Thousands != "" {
				if o.Thousands == MarkSpace {
					d.thousands = MarkNone
				} else if o.Thousands != d.thousands {
					continue
				}
			}
			if d.separator == SepComma && !quoted && (d.decimal == MarkComma || d.thousands == MarkComma) {
				continue
			}
			out = append(out, d)
		}
	}
	return out
}

func anyQuoted(rows []sampleRow) bool {
	for _, r := range rows {
		if bytes.IndexByte(r.raw, '"') >= 0 {
			return true
		}
	}
	return false
}

// table is the sample cut by a dialect.
type table struct {
	cells [][][]byte
	kinds [][]kind
}

// cut applies a dialect to the rows.
func cut(rows []sampleRow, lay *Layout) table {
	t := table{cells: make([][][]byte, len(rows)), kinds: make([][]kind, len(rows))}
	r := replay(rows, lay)
	f := lay.numFormat()
	for i := range rows {
		if _, err := r.next(); err != nil {
			break
		}
		for _, c := range r.cells() {
			if len(t.cells[i]) > maxColumns {
				break
			}
			c = bytes.Clone(c)
			t.cells[i] = append(t.cells[i], c)
			t.kinds[i] = append(t.kinds[i], classify(c, f))
		}
	}
	return t
}

// What columns of words take off the score of a dialect: enough that a few
// faults among numbers do not make their column one of words.
const (
	firstTextCost = 0.3
	moreTextCost  = 0.05
)

// judge scores a dialect on the sample: the share of lines that have the usual
// number of cells and hold what their columns usually hold.
func (d *dialect) judge(t table) {
	d.first = -1
	width, widest := map[int]int{}, 0
	for _, k := range t.kinds {
		if hasReading(k) {
			width[len(k)]++
		}
	}
	for n, lines := range width {
		if lines > width[widest] || lines == width[widest] && n > widest {
			widest = n
		}
	}
	d.columns = widest
	if widest == 0 {
		return
	}
	d.findText(t)
	good := 0.0
	for i, k := range t.kinds {
		fit := d.fits(k)
		good += fit
		if fit == 1 && d.first < 0 {
			d.first = i
		}
	}
	share := good / float64(len(t.kinds))
	words := 0
	for _, is := range d.text {
		if is {
			words++
		}
	}
	if words > 0 {
		d.cost = min(firstTextCost+moreTextCost*float64(words-1), share-share/100)
	}
	d.score = share - d.cost
}

// reachBack moves the first row of readings up over rows that are short or hold
// a fault, so that they are read, and complained about, and not taken for a
// heading. They have readings, and begin with one where they are full.
func (d *dialect) reachBack(t table) {
	for d.first > 0 {
		k := t.kinds[d.first-1]
		short := d.fits(k) == 0.5
		full := len(k) == d.columns && hasReading(k) && k[0] != kindText && (k[0] != kindBlank || d.fits(k) > 0)
		if d.columns < 2 || !short && !full {
			return
		}
		d.first--
	}
}

func hasReading(k []kind) bool {
	for _, one := range k {
		if one != kindText && one != kindBlank {
			return true
		}
	}
	return false
}

// findText marks the columns that mostly hold words.
func (d *dialect) findText(t table) {
	words, filled := make([]int, d.columns), make([]int, d.columns)
	for _, k := range t.kinds {
		if len(k) != d.columns || !hasReading(k) {
			continue
		}
		for j, one := range k {
			if one != kindBlank {
				filled[j]++
			}
			if one == kindText {
				words[j]++
			}
		}
	}
	d.text = make([]bool, d.columns)
	for j := range words {
		d.text[j] = words[j]*2 > filled[j]
	}
}

// fits grades one line: 1 when it is a row of the table, less when it is short.
func (d *dialect) fits(k []kind) float64 {
	if len(k) > d.columns || !hasReading(k) {
		return 0
	}
	readings := 0
	for j, one := range k {
		if d.text[j] {
			continue
		}
		if one == kindText {
			return 0
		}
		if one != kindBlank {
			readings++
		}
	}
	switch {
	case readings == 0:
		return 0
	case len(k) < d.columns:
		return 0.5
	}
	return 1
}

// pickDialect finds how the lines are cut and how numbers are written. Lines of
// notes are tried where no table fits.
func pickDialect(rows []sampleRow, o Override) (dialect, table) {
	var best dialect
	var bestTable table
	best.first = -1
	for _, d := range candidates(o, anyQuoted(rows)) {
		if d.separator == SepNotes {
			continue
		}
		t := cut(rows, d.layout())
		d.judge(t)
		if d.first >= 0 && d.score > best.score+1e-9 {
			best, bestTable = d, t
		}
	}
	if o.Separator == "" && o.Decimal == "" && commaIsDecimal(&best, bestTable) {
		best = dialect{separator: SepNone, decimal: MarkComma, thousands: MarkNone}
		bestTable = cut(rows, best.layout())
		best.judge(bestTable)
	}
	best.reachBack(bestTable)
	if o.Separator != "" && o.Separator != SepNotes {
		return best, bestTable
	}
	notes, notesTable := pickNotes(rows, o)
	rival := best.score
	if best.separator != SepSpace && len(best.text) > 2 && !best.text[0] && !best.text[1] {
		rival += best.cost // a column of remarks does not make a table notes
	}
	if notes.first >= 0 && (best.first < 0 || notes.score > rival+0.05) {
		return notes, notesTable
	}
	return best, bestTable
}

// pickNotes scores the sample as lines of notes: each should give a time and one
// reading.
func pickNotes(rows []sampleRow, o Override) (dialect, table) {
	best := dialect{first: -1}
	var bestTable table
	for _, decimal := range []string{MarkPoint, MarkComma} {
		if o.Decimal != "" && o.Decimal != decimal {
			continue
		}
		d := dialect{separator: SepNotes, decimal: decimal, thousands: MarkNone, columns: 2, first: -1, text: []bool{false, false}}
		t := cut(rows, d.layout())
		good, first := 0, -1
		for i, k := range t.kinds {
			timed := k[0] != kindBlank && (k[1] == kindNumber || k[1] == kindQuantity)
			if timed {
				good++
			}
			if first < 0 && (timed || k[1] == kindNumber) {
				first = i
			}
		}
		if good > 0 {
			d.first = first // a reading without a time may come first; it will be set aside, with a warning
		}
		d.score = float64(good) / float64(max(1, len(rows)))
		if d.first >= 0 && d.score > best.score {
			best, bestTable = d, t
		}
	}
	return best, bestTable
}

// widen makes room for columns that the headings name, or that rows of a sheet
// hold, and that most rows leave empty at their end.
func (d *dialect) widen(t table) {
	if d.first < 0 || d.separator == SepNotes {
		return
	}
	widest := d.columns
	if d.separator == SepCells {
		for i, k := range t.kinds {
			if i >= d.first && hasReading(k) {
				widest = max(widest, len(k))
			}
		}
	}
	for i := d.first - 1; i >= 0 && i >= d.first-2 && d.separator != SepSpace && d.separator != SepNone; i-- {
		heads := make([]string, 0, len(t.cells[i]))
		for _, c := range t.cells[i] {
			heads = append(heads, string(c))
		}
		for len(heads) > 0 && heads[len(heads)-1] == "" {
			heads = heads[:len(heads)-1]
		}
		if n := len(heads); n > widest && n <= d.columns+20 && wordy(heads) {
			widest = n
		}
	}
	for d.columns < widest {
		d.columns++
		d.text = append(d.text, false)
	}
}
