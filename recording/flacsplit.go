package recording

import (
	"bytes"
	"fmt"
)

// splitter cuts a FLAC stream into its frames. A frame does not say how long
// it is; without decoding it, its end is where the next head with a good
// checksum stands and its own checksum over all before is good too. So frames
// can be decoded side by side.
type splitter struct {
	r   *Reader
	in  *input
	si  streamInfo
	buf []byte // read, not yet split
	at  int64  // byte of the file that buf begins at
	eof bool

	begun    bool
	first    int64 // number of the first sample; 0 unless the beginning is cut off
	expected uint64
}

func newSplitter(r *Reader, si streamInfo) *splitter {
	return &splitter{r: r, in: r.in, si: si, at: r.in.pos}
}

// more reads on. It reports whether there was anything.
func (s *splitter) more() (bool, error) {
	if s.eof {
		return false, nil
	}
	const step = 1 << 16
	have := len(s.buf)
	if cap(s.buf)-have < step {
		// The unused front of an array is lost by reslicing: begin a new one.
		s.buf = append(make([]byte, 0, 2*have+4*step), s.buf...)
	}
	n, err := s.in.read(s.buf[have : have+step])
	s.buf = s.buf[:have+n]
	s.eof = n < step
	return n > 0, err
}

// next splits the next frame off into j, or says there why there is none.
func (s *splitter) next(j *job) {
	j.reset()
	for len(s.buf) < maxHeader && !s.eof {
		if _, err := s.more(); err != nil {
			j.fail(err)
			return
		}
	}
	j.at = s.at
	if len(s.buf) == 0 {
		j.end = cleanEnd
		return
	}
	h, ok := parseFrameHeader(s.buf)
	if !ok {
		s.noFrame(j)
		return
	}
	if p := s.changed(h); p != nil {
		j.fail(p)
		return
	}
	if !s.inOrder(h, j) {
		return
	}
	j.head = h
	n, err := s.length(h)
	switch {
	case err != nil:
		j.fail(err)
	case n > 0:
		j.data = append(append(j.data[:0], s.buf[:n]...), make([]byte, padding)...)
		s.drop(n)
	default:
		s.damaged(j)
	}
}

func (s *splitter) drop(n int) {
	s.buf = s.buf[n:]
	s.at += int64(n)
}

// length finds the end of the frame that the buffer begins with; 0: there is
// none.
func (s *splitter) length(h frameHeader) (int, error) {
	limit := 2*h.blockSize*s.si.channels*(s.si.bits+1)/8 + 1<<12
	var sum uint16
	summed, from := 0, h.size
	for {
		for from+maxHeader <= len(s.buf) || s.eof && from < len(s.buf) {
			i := bytes.IndexByte(s.buf[from:], 0xFF)
			if i < 0 {
				from = len(s.buf)
				break
			}
			from += i
			if from+maxHeader > len(s.buf) && !s.eof {
				break
			}
			if _, ok := parseFrameHeader(s.buf[from:]); ok {
				sum = crc16(sum, s.buf[summed:from])
				if summed = from; sum == 0 {
					return from, nil
				}
			}
			from++
		}
		if len(s.buf) > limit {
			return 0, nil
		}
		if more, err := s.more(); err != nil || !more {
			return s.lastLength(h, sum, summed, err)
		}
	}
}

// lastLength is the length of the last frame: up to the end of the file, or,
// where other things follow it, what decoding it takes.
func (s *splitter) lastLength(h frameHeader, sum uint16, summed int, err error) (int, error) {
	if err != nil {
		return 0, err
	}
	if crc16(sum, s.buf[summed:]) == 0 {
		return len(s.buf), nil
	}
	j := newJob()
	j.head, j.data = h, append(bytes.Clone(s.buf), make([]byte, padding)...)
	n, why := j.decodeFrame(s.si)
	if why != "" || n+2 > len(s.buf) || crc16(0, s.buf[:n+2]) != 0 {
		return 0, nil
	}
	return n + 2, nil
}

// changed refuses a stream that is not what its beginning says.
func (s *splitter) changed(h frameHeader) error {
	say := func(what string, now, then int) error {
		return s.r.problem(s.at, fmt.Sprintf("a FLAC frame of %d %s", now, what), fmt.Sprintf("%d as in the header", then),
			"The recording changes on the way, or its header is damaged. Use the part before this place, or record anew.")
	}
	switch {
	case h.rate > 0 && h.rate != s.si.rate:
		return say("Hz", h.rate, s.si.rate)
	case h.channels != s.si.channels:
		return say("channels", h.channels, s.si.channels)
	case h.bits > 0 && h.bits != s.si.bits:
		return say("bits", h.bits, s.si.bits)
	}
	return nil
}

// inOrder checks the number of a frame.
func (s *splitter) inOrder(h frameHeader, j *job) bool {
	if !s.begun {
		s.begun = true
		if s.first = int64(h.number); !h.variable {
			s.first *= int64(max(s.si.block, h.blockSize))
		}
		s.expected = h.number
	}
	if h.number != s.expected {
		j.end, j.over = badFrame, s.left()
		j.cause = fmt.Sprintf("it has the number %d where %d should come", h.number, s.expected)
		return false
	}
	s.expected++
	if h.variable {
		s.expected = h.number + uint64(h.blockSize)
	}
	return true
}

// left is the number of bytes to the end of the file, or of those that have
// been read where it is not known.
func (s *splitter) left() int64 { return max(s.in.left(), 0) + int64(len(s.buf)) }

// noFrame tells what follows the last frame from a frame whose head is damaged.
func (s *splitter) noFrame(j *job) {
	rest := s.buf
	j.over = s.left()
	tag := bytes.HasPrefix(rest, []byte("TAG")) || bytes.HasPrefix(rest, []byte("APETAGEX")) || bytes.HasPrefix(rest, []byte("ID3"))
	switch {
	case tag:
		j.end = cleanEnd
	case s.eof && len(rest) < maxHeader && rest[0] == 0xFF:
		j.end, j.over = cutOff, 0
	default:
		j.end, j.cause = badFrame, "its head is not one, or has a wrong checksum"
	}
}

// damaged is the end at a frame whose own end cannot be found.
func (s *splitter) damaged(j *job) {
	j.end, j.cause = badFrame, "its checksum is wrong"
	if !s.eof {
		return
	}
	// Cut off, or damaged within? A frame that is decoded before the bytes run
	// out is all there.
	t := newJob()
	t.head, t.data = j.head, append(bytes.Clone(s.buf), make([]byte, padding)...)
	if _, why := t.decodeFrame(s.si); why == ranOut {
		j.end = cutOff
	}
}
