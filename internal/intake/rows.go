package intake

import (
	"fmt"
	"io"
)

// maxColumns is the widest table that is taken for a log.
const maxColumns = 1000

// row is one line of a text or one row of a sheet; valid until the next one.
type row struct {
	line int
	raw  []byte // the whole line; nil in a sheet
}

// rowReader gives the rows of a source one after the other, io.EOF at the end.
type rowReader interface {
	next() (row, error)
	// cells cuts the row that next gave last.
	cells() [][]byte
	unended() bool // the text had no line end after its last line
	close() error
}

// counted counts the bytes that went through, for progress.
type counted struct {
	r    io.Reader
	done int64
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.done += int64(n)
	return n, err
}

// textRows are the lines of a text.
type textRows struct {
	lines  *lineReader
	split  *splitter
	notes  bool
	format numFormat
	closer io.Closer
	row    row
	pair   [2][]byte
}

// newTextRows cuts the text r by a layout.
func newTextRows(r io.Reader, closer io.Closer, file string, lay *Layout) *textRows {
	return &textRows{
		lines:  newLineReader(r, file),
		split:  newSplitter(lay.Separator.Value),
		notes:  lay.Separator.Value == SepNotes,
		format: lay.numFormat(),
		closer: closer,
	}
}

func (t *textRows) next() (row, error) {
	b, line, err := t.lines.next()
	if line == 1 && len(b) >= 3 && string(b[:3]) == string(bomUTF8) {
		b = b[3:]
	}
	t.row = row{line: line, raw: b}
	return t.row, err
}

func (t *textRows) cells() [][]byte {
	if !t.notes {
		return t.split.split(t.row.raw)
	}
	timeCell, value, ok := splitNote(t.row.raw, t.format)
	if !ok {
		value = t.row.raw // complained about as no number
	}
	t.pair = [2][]byte{timeCell, value}
	return t.pair[:]
}

func (t *textRows) unended() bool { return t.lines.unended }
func (t *textRows) close() error  { return t.closer.Close() }

// tooWide refuses a table with more columns than any log has.
func tooWide(file string, line, n int) error {
	found := fmt.Sprintf("%d columns", n)
	if n == maxColumns+1 {
		found = fmt.Sprintf("more than %d columns", maxColumns)
	}
	return refuse(Problem{File: file, Line: line, Found: found,
		Expected: fmt.Sprintf("at most %d", maxColumns), Advice: "choose the columns that matter, or check the separator"})
}
