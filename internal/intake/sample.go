package intake

import (
	"bytes"
	"errors"
	"io"
)

const (
	headLines  = 400     // lines looked at from the beginning
	tailLines  = 40      // and from the end
	wholeBytes = 1 << 20 // a text up to this size is counted in full
	tailBytes  = 32 << 10
	sheetRows  = 20000    // a sheet up to this length is counted in full
	sampleLine = 16 << 10 // of a line longer than this only the beginning is looked at
)

// sampleRow is a line or row kept for looking at.
type sampleRow struct {
	line  int // 0: near the end, not counted
	raw   []byte
	cells [][]byte // in a sheet
}

// sample is the head and the tail of a source.
type sample struct {
	head, tail []sampleRow
	rows       int  // lines or rows in all
	exact      bool // rows was counted, not estimated
	sheet      bool
}

// keep copies a row out of a reader.
func keep(r rowReader, at row) sampleRow {
	s := sampleRow{line: at.line, raw: bytes.Clone(at.raw[:min(len(at.raw), sampleLine)])}
	if at.raw == nil {
		for _, c := range r.cells() {
			s.cells = append(s.cells, bytes.Clone(c))
		}
	}
	return s
}

// take samples a reader: the head, and the last rows within a budget of lines.
func (s *sample) take(r rowReader, goOn func(lines int) bool) error {
	ring := make([]sampleRow, 0, tailLines)
	lines := 0
	for {
		at, err := r.next()
		if errors.Is(err, io.EOF) {
			s.exact = true
			break
		}
		if err != nil {
			return err
		}
		lines++
		if len(s.head) < headLines {
			s.head = append(s.head, keep(r, at))
			continue
		}
		if !goOn(lines) {
			break
		}
		if len(ring) == tailLines {
			copy(ring, ring[1:])
			ring = ring[:tailLines-1]
		}
		ring = append(ring, keep(r, at))
	}
	s.rows = lines
	s.tail = ring
	return nil
}

// sampleText samples a text; the tail of a long one is read from its end.
func sampleText(src Source, encoding string) (*sample, error) {
	f, err := src.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	c := &counted{r: f}
	var plain Layout
	rows := newTextRows(decode(c, encoding), f, src.Name, &plain)
	s := &sample{}
	small := src.Size >= 0 && src.Size <= wholeBytes
	if err := s.take(rows, func(int) bool { return small }); err != nil {
		return nil, err
	}
	if s.exact || len(s.head) == 0 {
		return s, nil
	}
	used := 0
	for _, r := range s.head {
		used += len(r.raw) + 1
	}
	if encoding == "utf-16le" || encoding == "utf-16be" {
		used *= 2
	}
	s.rows = int(float64(src.Size) / float64(used) * float64(len(s.head)))
	if at, ok := f.(io.ReaderAt); ok && src.Size > tailBytes {
		s.tail = readTail(at, src, encoding)
	}
	return s, nil
}

// readTail reads the last lines of a long text; nil where that fails.
func readTail(at io.ReaderAt, src Source, encoding string) []sampleRow {
	from := (src.Size - tailBytes) &^ 1
	var plain Layout
	rows := newTextRows(decode(io.NewSectionReader(at, from, src.Size-from), encoding), io.NopCloser(nil), src.Name, &plain)
	if _, err := rows.next(); err != nil { // a piece of a line
		return nil
	}
	var out []sampleRow
	for {
		r, err := rows.next()
		if err != nil {
			break
		}
		out = append(out, sampleRow{raw: bytes.Clone(r.raw)})
	}
	return out[max(0, len(out)-tailLines):]
}

// sampleSheet samples one sheet of a spreadsheet.
func sampleSheet(src Source, lay *Layout) (*sample, error) {
	rows, _, err := openRows(src, lay)
	if err != nil {
		return nil, err
	}
	defer rows.close()
	s := &sample{sheet: true}
	return s, s.take(rows, func(lines int) bool { return lines < sheetRows })
}

// sampled replays sample rows as a reader, cut by a layout.
type sampled struct {
	textRows
	rows []sampleRow
	now  sampleRow
}

func replay(rows []sampleRow, lay *Layout) *sampled {
	return &sampled{rows: rows, textRows: textRows{split: newSplitter(lay.Separator.Value),
		notes: lay.Separator.Value == SepNotes, format: lay.numFormat()}}
}

func (s *sampled) next() (row, error) {
	if len(s.rows) == 0 {
		return row{}, io.EOF
	}
	s.now, s.rows = s.rows[0], s.rows[1:]
	s.row = row{line: s.now.line, raw: s.now.raw}
	return s.row, nil
}

func (s *sampled) cells() [][]byte {
	if s.now.raw == nil {
		return s.now.cells
	}
	return s.textRows.cells()
}

func (s *sampled) close() error { return nil }
