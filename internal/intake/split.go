package intake

import (
	"bytes"
)

// separatorByte is the byte of a separator; 0 for those that are none.
func separatorByte(sep string) byte {
	switch sep {
	case SepComma:
		return ','
	case SepSemicolon:
		return ';'
	case SepTab:
		return '\t'
	case SepPipe:
		return '|'
	}
	return 0
}

// splitter cuts lines into cells; the cells are valid until the next call.
type splitter struct {
	sep     byte // 0: see blank
	blank   bool // cut at runs of blanks and tabs
	cells   [][]byte
	scratch []byte
}

func newSplitter(sep string) *splitter {
	return &splitter{sep: separatorByte(sep), blank: sep == SepSpace}
}

// split cuts one line. Cells lose the blanks around them and the quotation marks
// that enclose them. Past the widest table allowed one last cell holds the rest. A pipe at both ends of a line frames it and is no cell.
func (s *splitter) split(line []byte) [][]byte {
	s.cells = s.cells[:0]
	switch {
	case s.blank:
		return s.splitBlank(line)
	case s.sep == 0:
		s.cells = append(s.cells, unquote(trim(line)))
		return s.cells
	case bytes.IndexByte(line, '"') >= 0:
		return s.splitQuoted(line)
	}
	if s.sep == '|' {
		line = unframe(line)
	}
	start := 0
	for i, c := range line {
		if c == s.sep && len(s.cells) < maxColumns {
			s.cells = append(s.cells, trim(line[start:i]))
			start = i + 1
		}
	}
	s.cells = append(s.cells, trim(line[start:]))
	return s.cells
}

// unframe takes the pipes off the ends of "| 1 | 2 |".
func unframe(line []byte) []byte {
	t := trim(line)
	if len(t) >= 2 && t[0] == '|' && t[len(t)-1] == '|' {
		return t[1 : len(t)-1]
	}
	return line
}

func (s *splitter) splitBlank(line []byte) [][]byte {
	for i := 0; i < len(line); {
		for i < len(line) && (line[i] == ' ' || line[i] == '\t') {
			i++
		}
		start := i
		for i < len(line) && line[i] != ' ' && line[i] != '\t' {
			i++
		}
		if i > start && len(s.cells) <= maxColumns {
			s.cells = append(s.cells, unquote(line[start:i]))
		}
	}
	return s.cells
}

// splitQuoted follows RFC 4180, section 2, points 5 to 7, within one line: a cell
// in quotation marks may hold separators, and "" stands for one mark.
func (s *splitter) splitQuoted(line []byte) [][]byte {
	s.scratch = append(s.scratch[:0], line...)
	b := s.scratch
	out, start, quoted := 0, 0, false
	for i := 0; i < len(b); i++ {
		c := b[i]
		switch {
		case c == '"' && quoted && i+1 < len(b) && b[i+1] == '"':
			b[out] = '"'
			out++
			i++
		case c == '"' && (quoted || len(trim(b[start:out])) == 0):
			quoted = !quoted
		case c == s.sep && !quoted && len(s.cells) < maxColumns:
			s.cells = append(s.cells, trim(b[start:out:out]))
			b[out] = 0
			out++
			start = out
		default:
			b[out] = c
			out++
		}
	}
	s.cells = append(s.cells, trim(b[start:out]))
	return s.cells
}

func unquote(b []byte) []byte {
	if len(b) >= 2 && b[0] == '"' && b[len(b)-1] == '"' {
		return trim(b[1 : len(b)-1])
	}
	return b
}

// trim takes blanks, tabs and no-break spaces off both ends.
func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	if len(b) >= 2 && (b[0] == 0xc2 && b[1] == 0xa0 || b[len(b)-1] == 0xa0 && b[len(b)-2] == 0xc2) {
		return bytes.Trim(b, " \t\u00a0")
	}
	return b
}
