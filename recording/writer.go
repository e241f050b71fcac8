package recording

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"time"
)

// Format is how a [Writer] stores samples.
type Format struct {
	RateHz   float64 // a whole number of hertz
	Channels int
	Bits     int  // 16, 24 or 32
	Float    bool // 32-bit floating point, which does not clip
	// Started, where set, is written into a bext chunk as the recorder's clock
	// showed it.
	Started time.Time
}

// Writer writes a WAV file as it comes in, for a live recording: every Write
// is handed on at once, the sizes in the header say "not known" meanwhile, and
// a file that was never closed can still be read to its last whole frame.
// Close sets the sizes where the file can be sought in, and turns a file that
// has passed 4 GiB into RF64, for which a JUNK chunk keeps the place
// (EBU Tech 3306).
type Writer struct {
	w       io.Writer
	f       Format
	header  header
	bytes   int64 // of sample data
	clipped int64
	buf     []byte
	err     error
}

// unknownSize stands for a size that is not known yet.
const unknownSize = math.MaxUint32

// NewWriter writes the header and returns a writer. Where w is also an
// io.Seeker, Close can set the sizes; the header must then begin at the
// start of w.
func NewWriter(w io.Writer, f Format) (*Writer, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	out := &Writer{w: w, f: f, header: makeHeader(f)}
	if _, err := w.Write(out.header.bytes); err != nil {
		return nil, fmt.Errorf("recording: header not written: %w", err)
	}
	return out, nil
}

func (f Format) check() error {
	switch {
	case !(f.RateHz >= 1 && f.RateHz <= maxRate) || f.RateHz != math.Trunc(f.RateHz):
		return fmt.Errorf("recording: a sample rate of %v Hz cannot be written; expected a whole number from 1 to %d", f.RateHz, maxRate)
	case f.Channels < 1 || f.Channels > maxChannels:
		return fmt.Errorf("recording: %d channels cannot be written; expected 1 to %d", f.Channels, maxChannels)
	case f.Float && f.Bits != 32, !f.Float && f.Bits != 16 && f.Bits != 24 && f.Bits != 32:
		return fmt.Errorf("recording: samples of %d bits (float %t) cannot be written; expected 16, 24 or 32, or 32 floating", f.Bits, f.Float)
	}
	return nil
}

// frameBytes is the size of a frame.
func (f Format) frameBytes() int { return f.Channels * f.Bits / 8 }

// Frames is the number of frames written.
func (w *Writer) Frames() int64 { return w.bytes / int64(w.f.frameBytes()) }

// Clipped is the number of samples beyond full scale that were cut to it.
func (w *Writer) Clipped() int64 { return w.clipped }

// Write appends whole frames, channels interleaved, full scale ±1. Integers
// are rounded to the nearest without dither. A sample that is not finite is
// refused and nothing of the call is written. After a failed write every call
// returns that error.
func (w *Writer) Write(samples []float64) error {
	if w.err != nil {
		return w.err
	}
	if len(samples)%w.f.Channels != 0 {
		return fmt.Errorf("recording: %d samples are no whole frames of %d channels", len(samples), w.f.Channels)
	}
	for i, x := range samples {
		if x-x != 0 {
			return fmt.Errorf("recording: sample %d of the block is %v; expected a finite number", i+1, x)
		}
	}
	need := len(samples) * w.f.Bits / 8
	if cap(w.buf) < need {
		w.buf = make([]byte, need)
	}
	w.buf = w.buf[:need]
	w.encode(samples)
	n, err := w.w.Write(w.buf)
	w.bytes += int64(n)
	if err != nil {
		w.err = fmt.Errorf("recording: %d of %d bytes written: %w", n, need, err)
	}
	return w.err
}

func (w *Writer) encode(samples []float64) {
	switch {
	case w.f.Float:
		for i, x := range samples {
			binary.LittleEndian.PutUint32(w.buf[4*i:], math.Float32bits(float32(x)))
		}
	case w.f.Bits == 32:
		for i, x := range samples {
			binary.LittleEndian.PutUint32(w.buf[4*i:], uint32(w.integer(x, 1<<31)))
		}
	case w.f.Bits == 16:
		for i, x := range samples {
			binary.LittleEndian.PutUint16(w.buf[2*i:], uint16(w.integer(x, 1<<15)))
		}
	default:
		for i, x := range samples {
			v := w.integer(x, 1<<23)
			w.buf[3*i], w.buf[3*i+1], w.buf[3*i+2] = byte(v), byte(v>>8), byte(v>>16)
		}
	}
}

// integer scales, rounds and clips.
func (w *Writer) integer(x, full float64) int32 {
	v := math.RoundToEven(x * full)
	if v > full-1 {
		w.clipped++
		return int32(full - 1)
	}
	if v < -full {
		w.clipped++
		return int32(-full)
	}
	return int32(v)
}

// Close completes the file: a pad byte where the data are odd and, where w can
// be sought in, the sizes. It does not close w.
func (w *Writer) Close() error {
	if w.err != nil {
		return w.err
	}
	w.err = errors.New("recording: the writer is closed")
	if w.bytes%2 == 1 {
		if _, err := w.w.Write([]byte{0}); err != nil {
			return fmt.Errorf("recording: pad byte not written: %w", err)
		}
	}
	seeker, ok := w.w.(io.WriteSeeker)
	if !ok {
		return nil
	}
	w.header.setSizes(w.bytes, w.Frames())
	if _, err := seeker.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("recording: sizes not set: %w", err)
	}
	if _, err := seeker.Write(w.header.bytes); err != nil {
		return fmt.Errorf("recording: sizes not set: %w", err)
	}
	if _, err := seeker.Seek(0, io.SeekEnd); err != nil {
		return fmt.Errorf("recording: end not found: %w", err)
	}
	return nil
}
