package workshop

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"setwright/internal/run"
)

// RecordingOf returns the n-th recording of a run, from 0, as it was stored:
// without amendments of its labels.
func (s *Shop) RecordingOf(ctx context.Context, runID string, n int) (run.Recording, error) {
	r, err := s.Book.Run(ctx, runID)
	if err != nil {
		return run.Recording{}, err
	}
	if n < 0 || n >= len(r.Recordings) {
		return run.Recording{}, &NoRecordingError{runID, n, len(r.Recordings)}
	}
	return r.Recordings[n], nil
}

// NoRecordingError says that a run has no recording of that number.
type NoRecordingError struct {
	Run     string
	N, Have int
}

func (e *NoRecordingError) Error() string {
	return fmt.Sprintf("run %s has no recording %d: it has %d", e.Run, e.N+1, e.Have)
}

// Playing is a recording as 16-bit WAV, which every browser plays, whatever it
// is stored as. It is made while it is read and can be read from any place.
type Playing struct {
	rec    run.Recording
	open   func() (soundReader, error)
	src    soundReader
	opened bool
	frame  int64 // the next that src gives
	at     int64 // of the virtual file
	buf    []float64
	bytes  []byte // of frames decoded, from byte bytesAt of the file
	from   int64
}

// waveHeader is the length of the header of a plain WAV file.
const waveHeader = 44

// Play opens a recording of a run for the ear.
func (s *Shop) Play(ctx context.Context, runID string, n int) (*Playing, error) {
	rec, err := s.RecordingOf(ctx, runID, n)
	if err != nil {
		return nil, err
	}
	if size := rec.Frames * int64(2*rec.Channels); size > math.MaxUint32-waveHeader {
		return nil, fmt.Errorf("%s is too long to be played in one piece (%d bytes); it can be had as a file", rec.Name, size)
	}
	src, err := s.stored(rec)(ctx)
	if err != nil {
		return nil, err
	}
	return &Playing{rec: rec, open: func() (soundReader, error) { return openSound(src) }}, nil
}

// Size is the length of the file in bytes.
func (p *Playing) Size() int64 { return waveHeader + p.rec.Frames*p.align() }

func (p *Playing) align() int64 { return int64(2 * p.rec.Channels) }

// Close ends the playing.
func (p *Playing) Close() error {
	if !p.opened {
		return nil
	}
	p.opened = false
	return p.src.Close()
}

// Seek is that of io.Seeker.
func (p *Playing) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += p.at
	case io.SeekEnd:
		offset += p.Size()
	}
	if offset < 0 {
		return p.at, errors.New("seek before the start")
	}
	p.at = offset
	return offset, nil
}

// Read is that of io.Reader.
func (p *Playing) Read(dst []byte) (int, error) {
	switch {
	case p.at >= p.Size():
		return 0, io.EOF
	case p.at < waveHeader:
		n := copy(dst, p.header()[p.at:])
		p.at += int64(n)
		return n, nil
	}
	if p.at < p.from || p.at >= p.from+int64(len(p.bytes)) {
		if err := p.decode((p.at - waveHeader) / p.align()); err != nil {
			return 0, err
		}
	}
	n := copy(dst, p.bytes[p.at-p.from:])
	p.at += int64(n)
	return n, nil
}

// playBlock is how many frames are decoded at once.
const playBlock = 8192

// decode fills bytes with frames from the given one on. What the file has lost
// is silence.
func (p *Playing) decode(frame int64) error {
	if err := p.seek(frame); err != nil {
		return err
	}
	c := p.rec.Channels
	if p.buf == nil {
		p.buf = make([]float64, playBlock*c)
	}
	n, err := p.src.Read(p.buf)
	if n == 0 && err != io.EOF {
		return err
	}
	if n == 0 {
		n = int(min(playBlock, p.rec.Frames-frame))
		clear(p.buf[:n*c])
	}
	p.frame += int64(n)
	p.from, p.bytes = waveHeader+frame*p.align(), p.bytes[:0]
	for _, x := range p.buf[:n*c] {
		p.bytes = binary.LittleEndian.AppendUint16(p.bytes, uint16(int16(math.Round(max(-1, min(1, x))*math.MaxInt16))))
	}
	return nil
}

// seek makes the next frame that is read the given one.
func (p *Playing) seek(frame int64) error {
	if p.opened && p.frame > frame {
		p.Close()
	}
	if !p.opened {
		var err error
		if p.src, err = p.open(); err != nil {
			return err
		}
		p.opened, p.frame = true, 0
	}
	if p.frame < frame {
		if err := p.src.Skip(frame - p.frame); err != nil && err != io.EOF {
			return err
		}
		p.frame = frame
	}
	return nil
}

// header is that of a 16-bit WAV file (RIFF; Microsoft and IBM 1991).
func (p *Playing) header() []byte {
	le := binary.LittleEndian
	data := uint32(p.rec.Frames * p.align())
	h := append([]byte("RIFF"), le.AppendUint32(nil, waveHeader-8+data)...)
	h = append(h, "WAVEfmt "...)
	h = le.AppendUint32(h, 16)
	h = le.AppendUint16(h, 1)
	h = le.AppendUint16(h, uint16(p.rec.Channels))
	h = le.AppendUint32(h, uint32(p.rec.RateHz))
	h = le.AppendUint32(h, uint32(p.rec.RateHz)*uint32(p.align()))
	h = le.AppendUint16(h, uint16(p.align()))
	h = le.AppendUint16(h, 16)
	h = append(h, "data"...)
	return le.AppendUint32(h, data)
}

// RecordingFile opens a recording of a run as it was given, under its name.
func (s *Shop) RecordingFile(ctx context.Context, runID string, n int) (io.ReadCloser, string, error) {
	rec, err := s.RecordingOf(ctx, runID, n)
	if err != nil {
		return nil, "", err
	}
	f, err := s.Book.OpenFile(ctx, rec.SHA256)
	return f, rec.Name, err
}
