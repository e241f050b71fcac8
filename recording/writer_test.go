package recording

import (
	"bytes"
	"errors"
	"io"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// memory is a file in memory that can be sought in.
type memory struct {
	b   []byte
	pos int
}

func (m *memory) Write(p []byte) (int, error) {
	if need := m.pos + len(p); need > len(m.b) {
		m.b = append(m.b, make([]byte, need-len(m.b))...)
	}
	m.pos += copy(m.b[m.pos:], p)
	return len(p), nil
}

func (m *memory) Seek(to int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		to += int64(m.pos)
	case io.SeekEnd:
		to += int64(len(m.b))
	}
	m.pos = int(to)
	return to, nil
}

// openBytes opens a file in memory.
func openBytes(t testing.TB, b []byte) *Reader {
	t.Helper()
	r, err := Open("test", bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

// readAll reads to the end in blocks of an odd length.
func readAll(t testing.TB, r *Reader) []float64 {
	t.Helper()
	out, err := readUntil(r)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// readUntil reads to the end, or to an error.
func readUntil(r *Reader) ([]float64, error) {
	var out []float64
	block := make([]float64, 977*r.Channels())
	for {
		n, err := r.Read(block)
		out = append(out, block[:n*r.Channels()]...)
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return out, err
		}
	}
}

// TestWhatIsWrittenIsReadBack: the same integers come back to the last bit,
// whether the file was closed or not, and float to 24 bits.
func TestWhatIsWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := rapid.SampledFrom([]Format{{RateHz: 48000, Bits: 16}, {RateHz: 44100, Bits: 24}, {RateHz: 48000, Bits: 32}, {RateHz: 192000, Bits: 32, Float: true}}).Draw(rt, "format")
		f.Channels = rapid.IntRange(1, 5).Draw(rt, "channels")
		frames := rapid.IntRange(1, 200).Draw(rt, "frames")
		full := math.Ldexp(1, f.Bits-1)
		if f.Float {
			full = 1 << 23
		}
		want := make([]float64, frames*f.Channels)
		for i := range want {
			want[i] = float64(rapid.Int64Range(int64(-full), int64(full)-1).Draw(rt, "sample")) / full
		}
		m := &memory{}
		w, err := NewWriter(m, f)
		if err != nil {
			rt.Fatal(err)
		}
		cut := rapid.IntRange(0, frames).Draw(rt, "cut") * f.Channels
		for _, part := range [][]float64{want[:cut], want[cut:]} {
			if err := w.Write(part); err != nil {
				rt.Fatal(err)
			}
		}
		unfinished := rapid.Bool().Draw(rt, "unfinished")
		if !unfinished {
			if err := w.Close(); err != nil {
				rt.Fatal(err)
			}
		}
		r := openBytes(t, m.b)
		got := readAll(t, r)
		if len(got) != len(want) {
			rt.Fatalf("%d samples read, %d written", len(got), len(want))
		}
		for i := range want {
			if got[i] != want[i] {
				rt.Fatalf("sample %d is %v, was written as %v", i, got[i], want[i])
			}
		}
		i := r.Info()
		if i.RateHz != f.RateHz || i.Channels != f.Channels || i.Bits != f.Bits || i.Float != f.Float || i.Frames != int64(frames) {
			rt.Fatalf("read as %+v", i)
		}
		if n := len(r.Warnings()); unfinished != (n == 1) || n > 1 {
			rt.Fatalf("unfinished %t, warnings %v", unfinished, r.Warnings())
		}
	})
}

// TestClippedSamplesAreCounted: what lies beyond full scale is cut and counted;
// full scale itself has no positive integer.
func TestClippedSamplesAreCounted(t *testing.T) {
	m := &memory{}
	w, err := NewWriter(m, Format{RateHz: 48000, Channels: 1, Bits: 16})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write([]float64{0.5, 1, 1.5, -1, -1.00001, -1.5, 32767.4 / 32768}); err != nil {
		t.Fatal(err)
	}
	if w.Clipped() != 3 {
		t.Errorf("%d samples counted as clipped, 3 are", w.Clipped())
	}
	top := 32767.0 / 32768
	for i, x := range readAll(t, openBytes(t, m.b)) {
		if want := []float64{0.5, top, top, -1, -1, -1, top}[i]; x != want {
			t.Errorf("sample %d is %v, want %v", i, x, want)
		}
	}
}

// TestPast4GiB: sizes that 32 bits cannot hold turn the file into RF64.
func TestPast4GiB(t *testing.T) {
	f := Format{RateHz: 48000, Channels: 2, Bits: 16}
	h := makeHeader(f)
	const data = 5 << 30
	h.setSizes(data, data/4)
	r, err := Open("long", longFile{h.bytes}, int64(len(h.bytes))+data)
	if err != nil {
		t.Fatal(err)
	}
	i := r.Info()
	if i.Format != "RF64" || i.Frames != data/4 || i.FramesStated != data/4 || len(r.Warnings()) > 0 {
		t.Errorf("read as %+v, %v", i, r.Warnings())
	}
	if err := r.Skip(data/4 - 10); err != nil {
		t.Fatal(err)
	}
	if n := len(readAll(t, r)); n != 20 {
		t.Errorf("%d samples after skipping to ten frames before the end", n)
	}
}

// longFile is a header and zeros without end.
type longFile struct{ head []byte }

func (f longFile) ReadAt(p []byte, at int64) (int, error) {
	clear(p)
	if at < int64(len(f.head)) {
		copy(p, f.head[at:])
	}
	return len(p), nil
}

// TestStartIsKept: the start of a recording survives to the sample.
func TestStartIsKept(t *testing.T) {
	start := time.Date(2026, 11, 25, 19, 30, 5, 250_000_000, time.Local)
	m := &memory{}
	w, err := NewWriter(m, Format{RateHz: 48000, Channels: 1, Bits: 24, Started: start})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(make([]float64, 5)); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	r := openBytes(t, m.b)
	if got := r.Info().Started; !got.Equal(start) {
		t.Errorf("started %v, was written as %v", got, start)
	}
	if len(m.b)%2 != 0 {
		t.Error("no pad byte after an odd number of bytes")
	}
}

// TestWriterRefuses what it cannot write.
func TestWriterRefuses(t *testing.T) {
	for _, f := range []Format{
		{RateHz: 0, Channels: 1, Bits: 16}, {RateHz: 44100.5, Channels: 1, Bits: 16}, {RateHz: math.NaN(), Channels: 1, Bits: 16},
		{RateHz: 48000, Channels: 0, Bits: 16}, {RateHz: 48000, Channels: 65, Bits: 16},
		{RateHz: 48000, Channels: 1, Bits: 8}, {RateHz: 48000, Channels: 1, Bits: 16, Float: true},
	} {
		if _, err := NewWriter(io.Discard, f); err == nil {
			t.Errorf("%+v was accepted", f)
		}
	}
	w, err := NewWriter(io.Discard, Format{RateHz: 48000, Channels: 2, Bits: 16})
	if err != nil {
		t.Fatal(err)
	}
	if w.Write([]float64{0}) == nil || w.Write([]float64{0, math.NaN()}) == nil || w.Write([]float64{math.Inf(1), 0}) == nil {
		t.Error("half a frame or what is no number was accepted")
	}
	if w.Frames() != 0 {
		t.Errorf("%d frames written of what was refused", w.Frames())
	}
}
