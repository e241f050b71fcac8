package recording

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
)

// input is a file or a pipe, read forwards with a look ahead.
type input struct {
	name string
	at   *io.SectionReader // nil: a pipe
	buf  *bufio.Reader
	pos  int64 // of the next byte
	size int64 // −1: not known
}

// bufferSize is small: blocks of samples are longer, and pass by the buffer.
const bufferSize = 1 << 12

func newInput(name string, at io.ReaderAt, r io.Reader, size int64) *input {
	in := &input{name: name, size: max(size, -1)}
	if at != nil {
		length := size
		if size < 0 {
			length = math.MaxInt64
		}
		in.at = io.NewSectionReader(at, 0, length)
		r = in.at
	}
	in.buf = bufio.NewReaderSize(r, bufferSize)
	return in
}

// left is the number of bytes from here to the end, −1 if not known.
func (in *input) left() int64 {
	if in.size < 0 {
		return -1
	}
	return in.size - in.pos
}

// peek returns the next n bytes, fewer at the end, without passing them; n is
// at most bufferSize. The error is one of reading, never the end.
func (in *input) peek(n int) ([]byte, error) {
	b, err := in.buf.Peek(n)
	return b, in.trouble(err)
}

// read fills p as far as there are bytes. The error is one of reading, never
// the end.
func (in *input) read(p []byte) (int, error) {
	n, err := io.ReadFull(in.buf, p)
	in.pos += int64(n)
	return n, in.trouble(err)
}

// skip passes n bytes, fewer at the end, and returns how many they were.
func (in *input) skip(n int64) (int64, error) {
	if in.size >= 0 {
		n = min(n, in.size-in.pos)
	}
	if in.at == nil || in.size < 0 || n <= int64(in.buf.Buffered()) {
		return in.discard(n)
	}
	return n, in.seek(in.pos + n)
}

func (in *input) discard(n int64) (done int64, err error) {
	for done < n {
		k, err := in.buf.Discard(int(min(n-done, 1<<30)))
		done += int64(k)
		in.pos += int64(k)
		if err != nil {
			return done, in.trouble(err)
		}
	}
	return done, nil
}

// seek moves to a byte of a file.
func (in *input) seek(to int64) error {
	if _, err := in.at.Seek(to, io.SeekStart); err != nil {
		return fmt.Errorf("%s, byte %d: %w", in.name, to, err)
	}
	in.buf.Reset(in.at)
	in.pos = to
	return nil
}

// trouble drops the end of the file and names the place of all other errors.
func (in *input) trouble(err error) error {
	if err == nil || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return nil
	}
	return fmt.Errorf("%s, byte %d: cannot be read: %w", in.name, in.pos, err)
}
