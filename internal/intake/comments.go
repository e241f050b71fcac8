package intake

import (
	"bytes"
	"slices"
)

// commentMarks are what comment lines begin with, in order of preference.
var commentMarks = []string{"#", "%", "//", "!", ";", "*", "'", "\""}

// splitComments parts comment lines from the others, blank lines left out.
func splitComments(s *sample, over Override, lay *Layout) (body, comments []sampleRow) {
	lay.Comment = sure("#", "the usual mark; no line has another")
	if over.Comment != "" {
		lay.Comment = given(over.Comment)
	} else if len(s.head) > 0 && !s.sheet {
		first := trim(s.head[0].raw)
		for _, m := range commentMarks {
			if bytes.HasPrefix(first, []byte(m)) && (m == "#" || looksLikeWords(first, m)) {
				lay.Comment = sure(m, "the first line begins with it")
				break
			}
		}
	}
	for _, r := range s.head {
		text := trim(r.raw)
		if r.raw == nil && len(r.cells) > 0 {
			text = r.cells[0]
		}
		switch {
		case r.raw != nil && len(text) == 0, r.raw == nil && blankCells(r.cells):
		case bytes.HasPrefix(text, []byte(lay.Comment.Value)):
			if r.raw == nil {
				r.raw = bytes.Join(r.cells, []byte(" "))
			}
			comments = append(comments, r)
		default:
			body = append(body, r)
		}
	}
	return body, comments
}

// looksLikeWords says that a line beginning with a doubtful comment mark is one
// comment and not a row whose first cell is empty or quoted.
func looksLikeWords(line []byte, mark string) bool {
	rest := line[len(mark):]
	if mark == "\"" {
		return bytes.IndexByte(rest, '"') < 0
	}
	return bytes.IndexByte(rest, ';') < 0 && len(rest) > 0 && bytes.ContainsFunc(rest, func(r rune) bool { return r < 0x80 && isLetter(byte(r)) })
}

func trimComments(rows []sampleRow, lay *Layout) []sampleRow {
	return slices.DeleteFunc(slices.Clone(rows), func(r sampleRow) bool {
		return r.raw != nil && (len(trim(r.raw)) == 0 || bytes.HasPrefix(trim(r.raw), []byte(lay.Comment.Value)))
	})
}
