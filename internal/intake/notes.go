package intake

import "bytes"

// longestNote is more than anyone writes beside a reading.
const longestNote = 2000

// splitNote cuts a line of notes such as "after 10 min 7.0653 MHz" or
// "0:00 7.0641" into a time cell and a value cell. Either may be empty; ok is
// false where more than one number is left over, so that nobody can tell which
// is the reading. Words are left out.
func splitNote(line []byte, f numFormat) (timeCell, value []byte, ok bool) {
	if len(line) > longestNote {
		return nil, nil, false
	}
	rest, timeCell := cutNoteTime(line)
	for i := range rest {
		for j := 0; j < len(rest[i]); {
			if !startsNumber(rest[i], j) {
				j++
				continue
			}
			took, clean := noteNumber(rest[i][j:], f)
			if clean {
				if value != nil {
					return timeCell, value, false
				}
				value = trim(rest[i][j : j+took])
			}
			j += took
		}
	}
	return timeCell, value, true
}

// startsNumber says that a number may begin at place j: a digit, a sign before
// one, or a mark before one, not inside a word.
func startsNumber(b []byte, j int) bool {
	if j > 0 && (isLetter(b[j-1]) || isDigit(b[j-1]) || b[j-1] == '.') {
		return false
	}
	if (b[j] == '-' || b[j] == '+' || b[j] == '.') && j+1 < len(b) && isDigit(b[j+1]) {
		return true
	}
	return isDigit(b[j])
}

// noteNumber measures the number at the start of b with a unit after it; clean
// is false for a token such as "6SK7" that only begins with digits.
func noteNumber(b []byte, f numFormat) (took int, clean bool) {
	_, took = scanNumber(b, f, 0)
	if took == 0 {
		return 1, false
	}
	j := took + skipBlanks(b[took:])
	k := j
	for k < len(b) && b[k] != ' ' && b[k] != '\t' && b[k] != ',' && b[k] != ';' && b[k] != ')' {
		k++
	}
	if k > j {
		word := bytes.TrimRight(b[j:k], ".:")
		if _, known := lookUpUnit(string(word[:min(len(word), 16)]), ""); known {
			return j + len(word), true
		}
		if j == took && (isLetter(b[j]) || isDigit(b[j])) {
			return k, false
		}
	}
	return took, true
}

// cutNoteTime finds the first time in a line and gives what stands before and
// after it: a stamp, a time with colons or units, or a bare number before a
// colon at the start.
func cutNoteTime(line []byte) (rest [2][]byte, timeCell []byte) {
	for j := range line {
		if !startsNumber(line, j) {
			continue
		}
		if took := noteTime(line[j:]); took > 0 {
			return [2][]byte{line[:j], line[j+took:]}, trim(line[j : j+took])
		}
	}
	start := skipBlanks(line)
	_, took := scanNumber(line[start:], numFormat{decimal: '.'}, 0)
	if end := start + took; took > 0 && end < len(line) && (line[end] == ':' || line[end] == '=') {
		return [2][]byte{nil, line[end+1:]}, line[start:end]
	}
	return [2][]byte{line, nil}, nil
}

// noteTime measures a time at the start of b that ends where a word ends.
func noteTime(b []byte) int {
	_, took := scanStamp(b, dayFirst, false)
	if took == 0 {
		_, took = scanClock(b)
	}
	if d, w := scanElapsed(b, false); w > took && (d.parts > 0 || w > 0) {
		took = w
	}
	if took > 0 && took < len(b) && (isLetter(b[took]) || isDigit(b[took])) {
		return 0
	}
	return took
}
