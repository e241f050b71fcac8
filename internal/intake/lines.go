package intake

import (
	"bytes"
	"fmt"
	"io"
)

const (
	lineBuffer  = 256 << 10 // what is read at a time
	longestLine = 4 << 20   // a longer line is no line of a log
)

// lineReader cuts a text into lines. A line ends with LF, CR LF or a lone CR.
// The slice it gives is valid until the next call.
type lineReader struct {
	r          io.Reader
	file       string
	buf        []byte
	start, end int
	line       int
	eof        bool
	cr         bool // a CR may be among buf[start:end]
	unended    bool // the last line given had no line end
}

func newLineReader(r io.Reader, file string) *lineReader {
	return &lineReader{r: r, file: file, buf: make([]byte, lineBuffer)}
}

// next gives the next line without its end, and its number from 1.
func (l *lineReader) next() ([]byte, int, error) {
	searched := 0
	for {
		window := l.buf[l.start:l.end]
		if i, width := l.lineEnd(window, searched); i >= 0 {
			l.start += i + width
			l.line++
			return window[:i], l.line, nil
		}
		if l.eof {
			return l.last(window)
		}
		searched = max(0, len(window)-1)
		if err := l.fill(); err != nil {
			return nil, l.line, err
		}
	}
}

// lineEnd finds the first line end at or after from; width 0 with i -1: none.
// A CR at the very end of the window waits for what follows it.
func (l *lineReader) lineEnd(window []byte, from int) (i, width int) {
	i = bytes.IndexByte(window[from:], '\n')
	if i >= 0 {
		i += from
	}
	if !l.cr {
		return i, 1
	}
	until := len(window)
	if i >= 0 {
		until = i
	}
	j := bytes.IndexByte(window[from:until], '\r')
	if j < 0 {
		return i, 1
	}
	j += from
	switch {
	case j+1 < len(window) && window[j+1] == '\n':
		return j, 2
	case j+1 == len(window) && !l.eof:
		return -1, 0
	}
	return j, 1
}

// last gives what stands after the last line end.
func (l *lineReader) last(window []byte) ([]byte, int, error) {
	if len(window) == 0 {
		return nil, l.line, io.EOF
	}
	l.start = l.end
	l.line++
	l.unended = true
	return window, l.line, nil
}

// fill moves what is left to the front and reads more.
func (l *lineReader) fill() error {
	if l.start > 0 {
		copy(l.buf, l.buf[l.start:l.end])
		l.end -= l.start
		l.start = 0
	}
	if l.end == len(l.buf) {
		if len(l.buf) >= longestLine {
			return refuse(Problem{File: l.file, Line: l.line + 1, Found: fmt.Sprintf("a line of more than %d million characters", longestLine>>20),
				Expected: "one reading a line", Advice: "choose a log with line ends"})
		}
		l.buf = append(l.buf, make([]byte, len(l.buf))...)
	}
	for range 100 {
		n, err := l.r.Read(l.buf[l.end:])
		if n > 0 && !l.cr {
			l.cr = bytes.IndexByte(l.buf[l.end:l.end+n], '\r') >= 0
		}
		l.end += n
		if err == io.EOF {
			l.eof = true
			return nil
		}
		if err != nil {
			return refuse(Problem{File: l.file, Line: l.line + 1, Found: "the file could not be read on: " + err.Error()})
		}
		if n > 0 {
			return nil
		}
	}
	return refuse(Problem{File: l.file, Line: l.line + 1, Found: "the file gives no more bytes and no end"})
}
