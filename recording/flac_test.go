package recording

import (
	"bytes"
	"encoding/hex"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// unhex reads bytes written in hexadecimal with spaces.
func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.Join(strings.Fields(s), ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// needTool skips a test where a program is not installed.
func needTool(t testing.TB, name string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("%s is not installed: not compared", name)
	}
}

// run runs a program and returns what it writes.
func run(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	var out, complaint bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &out, &complaint
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %s: %v: %s", name, strings.Join(args, " "), err, complaint.String())
	}
	return out.Bytes()
}

// TestFLACAgainstReferenceEncoder: what the reference encoder makes of a file
// comes back to the last bit, whatever it was told to use.
func TestFLACAgainstReferenceEncoder(t *testing.T) {
	needTool(t, "flac")
	dir := t.TempDir()
	for _, c := range []struct {
		name     string
		channels int
		bits     int
		args     string
	}{
		{"mono16", 1, 16, "-5"}, {"stereo16", 2, 16, "-8"}, {"stereo24", 2, 24, "-5"}, {"fast", 2, 16, "-0"},
		{"six channels", 6, 16, "-5 --channel-map=none"}, {"small blocks", 1, 16, "-b 16 --lax"}, {"large blocks", 2, 16, "-b 32768 --lax"},
		{"order 32", 1, 24, "-l 32 --lax"}, {"order 10", 1, 16, "-l 10"}, {"order 3", 1, 16, "-l 3"}, {"partitions", 1, 16, "-r 0,8"},
		{"fixed", 2, 16, "-l 0"}, {"verbatim", 2, 16, "--disable-constant-subframes --disable-fixed-subframes -l 0 --lax"},
		{"no digest", 1, 16, "--no-md5-sum --lax"}, {"escape", 2, 24, "-e -p --lax"},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := testSound(20000, c.channels, c.bits)
			wav := filepath.Join(dir, "in.wav")
			writeWAV(t, wav, want, Format{RateHz: 48000, Channels: c.channels, Bits: c.bits})
			out := filepath.Join(dir, "out.flac")
			args := append([]string{"-s", "-f", "-o", out}, strings.Fields(c.args)...)
			run(t, "flac", append(args, wav)...)
			b, err := os.ReadFile(out)
			if err != nil {
				t.Fatal(err)
			}
			r := openBytes(t, b)
			same(t, readAll(t, r), want)
			if w := r.Warnings(); len(w) > 0 {
				t.Errorf("warnings %v", w)
			}
			if i := r.Info(); i.Bits != c.bits || i.Channels != c.channels || i.Frames != 20000 || i.RateHz != 48000 {
				t.Errorf("read as %+v", i)
			}
		})
	}
}

// testSound is sound of all kinds in turn: silence, a tone, noise, full scale,
// a constant, and channels that are alike.
func testSound(frames, channels, bits int) []float64 {
	full := math.Ldexp(1, bits-1)
	seed := uint64(1)
	noise := func() float64 {
		seed = seed*6364136223846793005 + 1442695040888963407
		return float64(int64(seed)>>11) / (1 << 52)
	}
	out := make([]float64, 0, frames*channels)
	for i := range frames {
		common := noise()
		for ch := range channels {
			var x float64
			switch i / 2500 % 8 {
			case 1:
				x = 0.7 * math.Sin(float64(i)*0.05+float64(ch))
			case 2:
				x = noise()
			case 3:
				x = 0.3*common + 0.001*noise()
			case 4:
				x = 0.25
			case 5:
				x = math.Copysign(1, math.Sin(float64(i)*0.3)) * float64(1-2*(ch&1))
			case 6:
				x = math.Round(64*0.4*math.Sin(float64(i)*0.01)) / 64
			case 7:
				x = 0.1*math.Sin(float64(i)*0.02) + 0.01*noise()
			}
			out = append(out, min(math.RoundToEven(x*full), full-1)/full)
		}
	}
	return out
}

func writeWAV(t testing.TB, file string, samples []float64, f Format) {
	t.Helper()
	out, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	w, err := NewWriter(out, f)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(samples); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

// same fails where samples differ at all.
func same(t testing.TB, got, want []float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d samples, want %d", len(got), len(want))
	}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("sample %d is %v, want %v", i, got[i], want[i])
		}
	}
}

// TestFLACClosedOnTheWay: closing ends what reads ahead, also where it waits
// for room, and nothing is read afterwards.
func TestFLACClosedOnTheWay(t *testing.T) {
	stream := longStream(400)
	for _, frames := range []int{0, 1, 20, 1000} {
		r, err := Open("x", bytes.NewReader(stream), int64(len(stream)))
		if err != nil {
			t.Fatal(err)
		}
		if n, err := r.Read(make([]float64, frames+1)); n == 0 || err != nil {
			t.Fatalf("%d frames, %v", n, err)
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := r.Read(make([]float64, 10)); !errors.Is(err, io.ErrClosedPipe) {
			t.Errorf("after closing: %v", err)
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// TestFLACSkipsByFrames: passing over most of a stream by its frames, in a file
// and in a pipe, and over its end.
func TestFLACSkipsByFrames(t *testing.T) {
	const count = 400
	stream := longStream(count)
	whole := readAll(t, openBytes(t, stream))
	if len(whole) != 16*count {
		t.Fatalf("%d samples in the stream", len(whole))
	}
	for _, skip := range []int{15, 16, 17, 16*count - 1, 16 * count, 16*count + 5} {
		file := openBytes(t, stream)
		pipe, err := Stream("x", bytes.NewReader(stream))
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range []*Reader{file, pipe} {
			if err := r.Skip(int64(skip)); err != nil {
				t.Fatal(err)
			}
			same(t, readAll(t, r), whole[min(skip, len(whole)):])
			faults(t, r, nil)
		}
	}
	file := openBytes(t, edited(stream, len(stream)/2, stream[len(stream)/2]^1))
	if err := file.Skip(16 * count); err != nil {
		t.Fatal(err)
	}
	if w := file.Warnings(); len(w) != 1 || w[0].Fault != BadChecksum {
		t.Errorf("damage within what was passed over gave %q", w)
	}
}

// longStream is a stream of so many frames of 16 samples, one channel of 8 bits.
func longStream(count int) []byte {
	w := &bitWriter{b: []byte("fLaC\x80\x00\x00\x22\x00\x10\x00\x10\x00\x00\x00\x00\x00\x00"), n: 8 * 18}
	w.put(8000, 20)
	w.put(0, 3)
	w.put(7, 5)
	w.put(uint64(16*count), 36)
	w.put(0, 64)
	w.put(0, 64)
	out := w.b
	for n := range count {
		f := &bitWriter{}
		f.put(0xFFF8, 16)
		f.put(0x7000, 16)
		f.putNumber(uint64(n))
		f.put(15, 16)
		f.put(uint64(crc8(f.b)), 8)
		f.put(2, 8) // verbatim
		for i := range 16 {
			f.put(uint64(n*7+i*i), 8)
		}
		f.put(uint64(crc16(0, f.b)), 16)
		out = append(out, f.b...)
	}
	return out
}
