package wire

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os/exec"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"pgregory.net/rapid"

	"setwright/recording"
)

// tone is an invented beat note of 997 Hz at half of full scale.
func tone(frames int) []float64 {
	out := make([]float64, frames)
	for i := range out {
		out[i] = 0.5 * math.Sin(2*math.Pi*997*float64(i)/48000)
	}
	return out
}

// code writes samples in a coding.
func code(c Coding, x []float64) []byte {
	var out []byte
	var order binary.AppendByteOrder = binary.LittleEndian
	if c.Big {
		order = binary.BigEndian
	}
	for _, v := range x {
		switch {
		case c.Float && c.Bits == 32:
			out = order.AppendUint32(out, math.Float32bits(float32(v)))
		case c.Float:
			out = order.AppendUint64(out, math.Float64bits(v))
		case c.Bits == 8:
			out = append(out, byte(math.Round(v*128)+128))
		case c.Bits == 16:
			out = order.AppendUint16(out, uint16(int16(math.Round(v*(1<<15)))))
		case c.Bits == 24:
			four := order.AppendUint32(nil, uint32(int32(math.Round(v*(1<<23)))))
			if c.Big {
				out = append(out, four[1:]...)
			} else {
				out = append(out, four[:3]...)
			}
		default:
			out = order.AppendUint32(out, uint32(int32(math.Round(v*(1<<31)))))
		}
	}
	return out
}

// all reads a capture to its end.
func all(t *testing.T, c SoundCapture) ([]float64, error) {
	t.Helper()
	var out []float64
	for {
		b, err := c.Next(t.Context())
		if err != nil {
			return out, err
		}
		if len(b.Samples)%c.Sound().Channels != 0 || b.At.IsZero() {
			t.Fatalf("a block of %d samples at %v", len(b.Samples), b.At)
		}
		out = append(out, b.Samples...)
	}
}

// TestRawCodings reads a tone in each coding, in readings that break frames
// anywhere.
func TestRawCodings(t *testing.T) {
	x := tone(9600)
	for _, c := range codings {
		data := code(c.coding, x)
		in := Raw{From: iotest.OneByteReader(bytes.NewReader(data[:3000])), Coding: c.coding}
		in.From = io.MultiReader(in.From, iotest.HalfReader(bytes.NewReader(data[3000:])))
		capture, err := in.Open(t.Context(), Want{RateHz: 48000, Channels: 1})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		got, err := all(t, capture)
		if err != io.EOF || len(got) != len(x) {
			t.Fatalf("%s: %d samples, %v", c.name, len(got), err)
		}
		for i := range x {
			if math.Abs(got[i]-x[i]) > 1.0/128 {
				t.Fatalf("%s: sample %d is %v, expected %v", c.name, i, got[i], x[i])
			}
		}
		if !bytes.Equal(code(c.coding, got), data) {
			t.Errorf("%s: written again the samples are not the same", c.name)
		}
		if notes := capture.Notes(); len(notes) > 0 {
			t.Errorf("%s: %v", c.name, notes)
		}
	}
}

// TestDecodeIsExact: what was decoded is the same to the bit when written again.
func TestDecodeIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(codings).Draw(t, "coding").coding
		data := rapid.SliceOfN(rapid.Byte(), c.Bytes()*8, c.Bytes()*8).Draw(t, "bytes")
		x := c.Decode(nil, data)
		for _, v := range x {
			if math.IsNaN(v) {
				return // a NaN has many forms
			}
		}
		if got := code(c, x); !bytes.Equal(got, data) {
			t.Errorf("%s: %x became %x", c, data, got)
		}
	})
}

// TestStreamThatIsNotWhatWasSaid: what is refused, and what is doubted.
func TestStreamThatIsNotWhatWasSaid(t *testing.T) {
	s16, f32 := Coding{Bits: 16}, Coding{Bits: 32, Float: true}
	x := tone(9600)
	for _, c := range []struct {
		what  string
		said  Coding
		data  []byte
		fault string // of the opening
		note  string
	}{
		{"help of a recorder", s16, []byte("usage: record [options] FILE\n  -r  rate\n"), "found text", ""},
		{"16 bit taken for floating point", f32, code(s16, x), "expected floating-point samples", ""},
		{"24 bit taken for floating point", f32, code(Coding{Bits: 24}, x), "expected floating-point samples", ""},
		{"the bytes the wrong way round", s16, code(Coding{Bits: 16, Big: true}, x), "", "as s16be they look like sound"},
		{"floating point taken for 16 bit", s16, code(f32, x), "", "as f32le they look like sound"},
		{"24 bit taken for 16 bit", s16, code(Coding{Bits: 24}, x), "", "as s24le they look like sound"},
		{"nothing", s16, nil, "ended before the first sample", ""},
		{"a picture", s16, append([]byte("OggS\x00\x02"), make([]byte, 600)...), "begins like a sound file, and is none that can be read", ""},
	} {
		capture, err := Raw{From: bytes.NewReader(c.data), Coding: c.said}.Open(t.Context(), Want{RateHz: 48000, Channels: 1})
		var fault *Fault
		if c.fault != "" {
			if !errors.As(err, &fault) || !strings.Contains(err.Error(), c.fault) {
				t.Errorf("%s: %v", c.what, err)
			}
			continue
		}
		if err != nil || len(capture.Notes()) != 1 || !strings.Contains(capture.Notes()[0], c.note) {
			t.Errorf("%s: %v", c.what, err)
			if capture != nil {
				t.Log(capture.Notes(), roughness(c.said.Decode(nil, c.data[:rawHead]), 1))
			}
		}
	}
	if _, err := (Raw{From: bytes.NewReader(code(s16, x)), Coding: s16}).Open(t.Context(), Want{}); err == nil || !strings.Contains(err.Error(), "--rate") {
		t.Errorf("without a rate: %v", err)
	}
}

// TestSoundIsNotDoubted: noise, silence and a loud high tone in their own
// coding are let alone.
func TestSoundIsNotDoubted(t *testing.T) {
	noise := make([]float64, 9600)
	state := uint64(1)
	for i := range noise {
		state = state*6364136223846793005 + 1442695040888963407
		noise[i] = (float64(state>>11)/(1<<53) - 0.5) * 1.9
	}
	high := make([]float64, 9600)
	for i := range high {
		high[i] = 0.9 * math.Sin(2*math.Pi*17000*float64(i)/48000)
	}
	for what, x := range map[string][]float64{"noise": noise, "silence": make([]float64, 9600), "a high tone": high} {
		for _, c := range codings {
			capture, err := Raw{From: bytes.NewReader(code(c.coding, x)), Coding: c.coding}.Open(t.Context(), Want{RateHz: 48000})
			if err != nil || len(capture.Notes()) > 0 {
				t.Errorf("%s as %s was doubted: %v", what, c.name, err)
			}
		}
	}
}

// TestStreamsThatEndIll: inside a frame, broken off, stalled.
func TestStreamsThatEndIll(t *testing.T) {
	s16 := Coding{Bits: 16}
	data := code(s16, tone(9600))
	stuck, _ := io.Pipe()
	for _, c := range []struct {
		what   string
		from   io.Reader
		kind   FaultKind
		text   string
		frames int
	}{
		{"half a frame", bytes.NewReader(data[:len(data)-3]), HalfFrame, "1 of its 4 bytes", 4799},
		{"broken", io.MultiReader(bytes.NewReader(data), iotest.ErrReader(errors.New("the cable was pulled"))), Died, "the cable was pulled", 4800},
		{"stalled", io.MultiReader(bytes.NewReader(data), stuck), Stalled, "no sample has come for 50ms", 4800},
	} {
		capture, err := Raw{From: c.from, Coding: s16, StallAfter: 50 * time.Millisecond}.Open(t.Context(), Want{RateHz: 48000, Channels: 2})
		if err != nil {
			t.Fatal(err)
		}
		got, err := all(t, capture)
		var fault *Fault
		if !errors.As(err, &fault) || fault.Kind != c.kind || !strings.Contains(err.Error(), c.text) {
			t.Errorf("%s: %v", c.what, err)
		}
		if len(got) != 2*c.frames {
			t.Errorf("%s: %d frames, expected %d", c.what, len(got)/2, c.frames)
		}
		if _, again := capture.Next(t.Context()); again != err {
			t.Errorf("%s: then %v", c.what, again)
		}
		_ = capture.Close()
		_ = capture.Close()
	}
}

// TestStopWhileWaiting: a capture that waits for samples can be stopped.
func TestStopWhileWaiting(t *testing.T) {
	s16 := Coding{Bits: 16}
	r, w := io.Pipe()
	go w.Write(code(s16, tone(9600)))
	capture, err := Raw{From: r, Coding: s16}.Open(t.Context(), Want{RateHz: 48000, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	time.AfterFunc(20*time.Millisecond, stop)
	for err == nil {
		_, err = capture.Next(ctx)
	}
	if !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// TestHeaderOnThePipe: a recorder that writes a WAV file to the pipe, of a
// length it does not know, is understood, whatever was said.
func TestHeaderOnThePipe(t *testing.T) {
	x := tone(9600)
	var file bytes.Buffer
	w, err := recording.NewWriter(&file, recording.Format{RateHz: 44100, Channels: 2, Bits: 24})
	if err == nil {
		err = w.Write(x)
	}
	if err != nil {
		t.Fatal(err)
	}
	capture, err := Raw{From: iotest.HalfReader(&file), Coding: Coding{Bits: 16}}.Open(t.Context(), Want{RateHz: 48000, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	s := capture.Sound()
	if s.RateHz != 44100 || s.Channels != 2 || s.Coding != (Coding{Bits: 24}) || len(capture.Notes()) != 3 {
		t.Errorf("%+v, %v", s, capture.Notes())
	}
	got, err := all(t, capture)
	if err != io.EOF || len(got) != len(x) {
		t.Fatalf("%d samples, %v", len(got), err)
	}
	for i := range x {
		if math.Abs(got[i]-x[i]) > 1e-7 {
			t.Fatalf("sample %d is %v, expected %v", i, got[i], x[i])
		}
	}
}

// TestCompressedOnThePipe: a recorder that writes FLAC to the pipe is
// understood; closing in the middle ends what reads ahead.
func TestCompressedOnThePipe(t *testing.T) {
	if _, err := exec.LookPath("flac"); err != nil {
		t.Skip("flac is not installed: not compared")
	}
	x := tone(3 * 48000)
	pack := exec.Command("flac", "--silent", "--stdout", "--force-raw-format", "--endian=little", "--sign=signed", "--channels=1", "--bps=16", "--sample-rate=48000", "-")
	pack.Stdin = bytes.NewReader(code(Coding{Bits: 16}, x))
	file, err := pack.Output()
	if err != nil {
		t.Fatal(err)
	}
	capture, err := Raw{From: iotest.HalfReader(bytes.NewReader(file))}.Open(t.Context(), Want{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := all(t, capture)
	if err != io.EOF || len(got) != len(x) {
		t.Fatalf("%d samples of %d, %v", len(got), len(x), err)
	}
	more, feed := io.Pipe()
	defer feed.Close()
	go feed.Write(file[:len(file)-len(file)/4])
	if capture, err = (Raw{From: more}).Open(t.Context(), Want{}); err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if b, err := capture.Next(t.Context()); err != nil || len(b.Samples) == 0 {
			t.Fatalf("%d samples, %v", len(b.Samples), err)
		}
	}
	if err := capture.Close(); err != nil {
		t.Error(err)
	}
	if _, err := capture.Next(t.Context()); err == nil {
		t.Error("sound after the end")
	}
}

// TestWantRefused: what no input can give is refused before anything is read.
func TestWantRefused(t *testing.T) {
	for _, w := range []Want{{RateHz: 48000, Channels: -1}, {RateHz: 48000, Channels: 300}, {RateHz: -1}, {RateHz: math.NaN()}, {RateHz: 1e12}} {
		var fault *Fault
		if _, err := (Raw{From: bytes.NewReader(make([]byte, 100))}).Open(t.Context(), w); !errors.As(err, &fault) || fault.Kind != WrongFormat {
			t.Errorf("%+v of raw samples: %v", w, err)
		}
		if _, err := (Server{Address: "unix:nowhere"}).Open(t.Context(), w); !errors.As(err, &fault) || fault.Kind != WrongFormat {
			t.Errorf("%+v of a sound server: %v", w, err)
		}
	}
}

// FuzzRaw: whatever comes, in any coding: no panic, whole frames, an end.
func FuzzRaw(f *testing.F) {
	f.Add([]byte("RIFF\xff\xff\xff\xffWAVEfmt "), byte(1), byte(1))
	f.Add(code(Coding{Bits: 16}, tone(100)), byte(1), byte(2))
	f.Fuzz(func(t *testing.T, data []byte, coding, channels byte) {
		in := Raw{From: bytes.NewReader(data), Coding: codings[int(coding)%len(codings)].coding}
		capture, err := in.Open(t.Context(), Want{RateHz: 48000, Channels: int(channels%8) + 1})
		for err == nil {
			var b Block
			b, err = capture.Next(t.Context())
			if len(b.Samples)%capture.Sound().Channels != 0 {
				t.Fatalf("%d samples of %d channels", len(b.Samples), capture.Sound().Channels)
			}
		}
		if err.Error() == "" {
			t.Errorf("%T without words", err)
		}
	})
}
