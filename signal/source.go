package signal

import (
	"cmp"
	"fmt"
	"io"
	"slices"
)

// Source is sampled sound read forwards in blocks. Full scale is ±1.
type Source interface {
	// Rate is the nominal sample rate in hertz.
	Rate() float64
	// Channels is the number of channels, at least 1.
	Channels() int
	// Read fills dst with whole frames, channels interleaved, and returns the
	// number of frames read; more than 0 come with a nil error, the end is 0
	// and io.EOF. dst must hold one frame at least.
	Read(dst []float64) (frames int, err error)
}

// Gap is a place where samples of a recording are not what the input was:
// zeros put in, a block repeated, time that passed without samples.
type Gap struct {
	Frame  int64   // first frame at fault
	Frames int64   // frames in the recording that are not true, 0 where samples are only missing
	LostS  float64 // seconds that passed without samples, 0 if none or not known
	Why    string  // "zeros", "repeated block", "late by the clock", "phase jump"
}

// Stretch is a whole part of a recording: frames From up to, not including, To.
type Stretch struct{ From, To int64 }

// Stretches returns the parts of a recording of so many frames that no gap
// breaks, in order. Gaps may come in any order and overlap.
func Stretches(frames int64, gaps []Gap) []Stretch {
	sorted := sortGaps(gaps)
	var out []Stretch
	var from int64
	for _, g := range sorted {
		if to := min(g.Frame, frames); to > from {
			out = append(out, Stretch{from, to})
		}
		from = max(from, g.Frame+g.Frames)
	}
	if from < frames {
		out = append(out, Stretch{from, frames})
	}
	return out
}

func sortGaps(gaps []Gap) []Gap {
	out := slices.Clone(gaps)
	slices.SortStableFunc(out, func(a, b Gap) int { return cmp.Compare(a.Frame, b.Frame) })
	return out
}

// FromSlice is a source of one channel with the samples of a slice, which it
// does not change.
func FromSlice(rate float64, samples []float64) Source {
	return &slice{rate: rate, rest: samples}
}

type slice struct {
	rate float64
	rest []float64
}

func (s *slice) Rate() float64 { return s.rate }
func (s *slice) Channels() int { return 1 }

func (s *slice) Read(dst []float64) (int, error) {
	if len(s.rest) == 0 {
		return 0, io.EOF
	}
	n := copy(dst, s.rest)
	s.rest = s.rest[n:]
	return n, nil
}

// Mean is the channel number of the mean of all channels.
const Mean = -1

// Mono is one channel of a source, numbered from 0, or the [Mean] of all.
func Mono(src Source, channel int) (Source, error) {
	if channel < Mean || channel >= src.Channels() {
		return nil, fmt.Errorf("signal: channel %d of a source that has %d", channel+1, src.Channels())
	}
	if src.Channels() == 1 {
		return src, nil
	}
	return &mono{src: src, channel: channel}, nil
}

type mono struct {
	src     Source
	channel int
	buf     []float64
}

func (m *mono) Rate() float64 { return m.src.Rate() }
func (m *mono) Channels() int { return 1 }

func (m *mono) Read(dst []float64) (int, error) {
	c := m.src.Channels()
	if need := len(dst) * c; cap(m.buf) < need {
		m.buf = make([]float64, need)
	}
	n, err := m.src.Read(m.buf[:len(dst)*c])
	if m.channel >= 0 {
		for i := range n {
			dst[i] = m.buf[i*c+m.channel]
		}
		return n, err
	}
	for i := range n {
		sum := 0.0
		for _, x := range m.buf[i*c : i*c+c] {
			sum += x
		}
		dst[i] = sum / float64(c)
	}
	return n, err
}

// Section is the part of a source from frame from up to, not including, to,
// counted from where the source stands. What lies before is read and dropped,
// or skipped where the source can.
func Section(src Source, from, to int64) (Source, error) {
	if from < 0 || to < from {
		return nil, fmt.Errorf("signal: section from frame %d to %d", from, to)
	}
	if s, ok := src.(interface{ Skip(frames int64) error }); ok {
		if err := s.Skip(from); err != nil {
			return nil, err
		}
		from, to = 0, to-from
	}
	return &section{src: src, skip: from, left: to - from}, nil
}

type section struct {
	src        Source
	skip, left int64
}

func (s *section) Rate() float64 { return s.src.Rate() }
func (s *section) Channels() int { return s.src.Channels() }

func (s *section) Read(dst []float64) (int, error) {
	c := int64(s.src.Channels())
	for s.skip > 0 {
		n, err := s.src.Read(dst[:min(int64(len(dst))/c, s.skip)*c])
		s.skip -= int64(n)
		if err != nil {
			return 0, err
		}
	}
	if s.left == 0 {
		return 0, io.EOF
	}
	n, err := s.src.Read(dst[:min(int64(len(dst))/c, s.left)*c])
	s.left -= int64(n)
	return n, err
}
