package recording

import (
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// TestResume breaks the writing of a file off at every kind of place, takes it
// up again and reads it: all whole frames are there, to the bit.
func TestResume(t *testing.T) {
	for _, f := range []Format{
		{RateHz: 48000, Channels: 1, Bits: 16}, {RateHz: 44100, Channels: 3, Bits: 24, Started: time.Date(2024, 2, 3, 7, 40, 0, 0, time.Local)},
		{RateHz: 48000, Channels: 2, Bits: 32}, {RateHz: 96000, Channels: 2, Bits: 32, Float: true},
	} {
		x := make([]float64, 12*f.Channels)
		for i := range x {
			x[i] = math.Round(20000*math.Sin(float64(i))) / 32768
		}
		for cut := range int64(f.frameBytes() + 1) {
			for _, closed := range []bool{false, true} {
				got := broken(t, f, x, cut, closed)
				want := 10 - (cut+int64(f.frameBytes())-1)/int64(f.frameBytes()) + 2
				if len(got) != int(want)*f.Channels {
					t.Fatalf("%+v cut by %d, closed %t: %d samples, expected %d frames", f, cut, closed, len(got), want)
				}
				tail := want - 2
				for i, v := range got {
					from := i
					if i >= int(tail)*f.Channels {
						from = i - int(tail)*f.Channels + 10*f.Channels
					}
					if v != x[from] {
						t.Fatalf("%+v cut by %d: sample %d is %v, expected %v", f, cut, i, v, x[from])
					}
				}
			}
		}
	}
}

// broken writes 10 frames, cuts so many bytes off, takes the file up, writes 2
// more and returns what is read.
func broken(t *testing.T, f Format, x []float64, cut int64, closed bool) []float64 {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	file, err := os.Create(filepath.Join(t.TempDir(), "r.wav"))
	must(err)
	defer file.Close()
	w, err := NewWriter(file, f)
	must(err)
	must(w.Write(x[:10*f.Channels]))
	info, err := file.Stat()
	must(err)
	if closed {
		must(w.Close())
	}
	must(file.Truncate(info.Size() - cut))
	w, err = TakeUp(file, f)
	must(err)
	size, err := WholeFrames(info.Size()-cut, f)
	must(err)
	must(w.Write(x[10*f.Channels:]))
	must(w.Close())
	if n, err := FramesIn(size, f); err != nil || n+2 != w.Frames() {
		t.Fatalf("%d frames in the file, %d by the writer, %v", n, w.Frames(), err)
	}
	info, err = file.Stat()
	must(err)
	r, err := Open("r.wav", file, info.Size())
	must(err)
	out := make([]float64, len(x))
	var got []float64
	for {
		n, err := r.Read(out)
		got = append(got, out[:n*f.Channels]...)
		if err == io.EOF {
			break
		}
		must(err)
	}
	if len(r.Warnings()) > 0 {
		t.Errorf("%+v: %v", f, r.Warnings())
	}
	return got
}

// TestResumeOfSomethingElse is refused.
func TestResumeOfSomethingElse(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "r.wav"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	f := Format{RateHz: 48000, Channels: 1, Bits: 16}
	if _, err := NewWriter(file, f); err != nil {
		t.Fatal(err)
	}
	for _, other := range []Format{{RateHz: 44100, Channels: 1, Bits: 16}, {RateHz: 48000, Channels: 2, Bits: 16}, {RateHz: 48000, Channels: 1, Bits: 32, Float: true}} {
		if _, err := Resume(file, other); err == nil {
			t.Errorf("taken up as %+v", other)
		}
	}
}
