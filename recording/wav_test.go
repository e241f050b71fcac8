package recording

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"testing"
	"time"
)

// TestSampleFormats: the numbers that bytes stand for, from the definitions of
// the formats; those of 24 bits are also what three independent readers make of
// them.
func TestSampleFormats(t *testing.T) {
	const tiny24, tiny53 = 1.0 / (1 << 23), 1.0 / (1 << 52)
	for _, c := range []struct {
		name   string
		format []byte
		data   []byte
		want   []float64
	}{
		{"8 bits, unsigned", fmtPart(tagPCM, 1, 8000, 8), []byte{0x80, 0xFF, 0x00, 0x7F}, []float64{0, 127.0 / 128, -1, -1.0 / 128}},
		{"5 bits in a byte", fmtPart(tagPCM, 1, 8000, 5), []byte{0x80, 0xF8, 0x00, 0x78}, []float64{0, 15.0 / 16, -1, -1.0 / 16}},
		{"16 bits", plain(), four, fourSamples},
		{"12 bits in 16", fmtPart(tagPCM, 1, 8000, 12), []byte{0xF0, 0x7F, 0x00, 0x80, 0x10, 0x00}, []float64{2047.0 / 2048, -1, 1.0 / 2048}},
		{"24 bits", fmtPart(tagPCM, 1, 8000, 24), []byte{0xFF, 0xFF, 0x7F, 0x00, 0x00, 0x80, 0xFF, 0xFF, 0xFF}, []float64{1 - tiny24, -1, -tiny24}},
		{"24 bits, extensible", extensible(tagPCM, 1, 8000, 24, 24), []byte{0xFF, 0xFF, 0x7F, 0x00, 0x00, 0x80}, []float64{1 - tiny24, -1}},
		{"20 bits in 24, extensible", extensible(tagPCM, 1, 8000, 24, 20), []byte{0xF0, 0xFF, 0x7F, 0x00, 0x00, 0x80}, []float64{1 - 1.0/(1<<19), -1}},
		{"32 bits", fmtPart(tagPCM, 1, 8000, 32), []byte{0, 0, 0, 0x40, 0, 0, 0, 0x80, 0, 1, 0, 0}, []float64{0.5, -1, tiny24}},
		{"36 bits in 40", fmtPart(tagPCM, 1, 8000, 36), []byte{0, 0, 0, 0, 0x80, 0, 0, 0, 0, 0x20}, []float64{-1, 0.25}},
		{"64 bits", fmtPart(tagPCM, 1, 8000, 64), []byte{0, 0, 0, 0, 0, 0, 0, 0x80, 0, 8, 0, 0, 0, 0, 0, 0}, []float64{-1, tiny53}},
		{"float 32", fmtPart(tagFloat, 1, 8000, 32), []byte{0, 0, 0x80, 0x3F, 0, 0, 0, 0xBF}, []float64{1, -0.5}},
		{"float 64", fmtPart(tagFloat, 1, 8000, 64), []byte{0, 0, 0, 0, 0, 0, 0xE0, 0xBF}, []float64{-0.5}},
		{"float 32, extensible", extensible(tagFloat, 1, 8000, 32, 32), []byte{0, 0, 0x80, 0x3E}, []float64{0.25}},
		// ITU-T G.711: the ends of both laws and the smallest values.
		{"A-law", fmtPart(tagALaw, 1, 8000, 8), []byte{0xAA, 0x2A, 0xD5, 0x55}, []float64{32256.0 / 32768, -32256.0 / 32768, 8.0 / 32768, -8.0 / 32768}},
		{"mu-law", fmtPart(tagMuLaw, 1, 8000, 8), []byte{0x80, 0x00, 0xFF, 0x7F, 0xFE}, []float64{32124.0 / 32768, -32124.0 / 32768, 0, 0, 8.0 / 32768}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := openBytes(t, riffFile(c.format, part("data", c.data)))
			same(t, readAll(t, r), c.want)
			if w := r.Warnings(); len(w) > 0 {
				t.Errorf("warnings %v", w)
			}
		})
	}
}

// TestLayouts: the same four frames, however the file is laid out.
func TestLayouts(t *testing.T) {
	data := part("data", four)
	odd := part("inst", make([]byte, 7))
	big := part("PAD ", make([]byte, 100_001))
	for _, c := range []struct {
		name     string
		file     []byte
		format   string
		warnings []Fault
	}{
		{"plain", riffFile(plain(), data), "WAV", nil},
		{"fmt of 18 bytes", riffFile(part("fmt ", append(fmtBytes(tagPCM, 1, 8000, 16), 0, 0)), data), "WAV", nil},
		{"chunks before, between and after", riffFile(part("LIST", make([]byte, 26)), odd, plain(), odd, big, data, odd, part("id3 ", make([]byte, 33))), "WAV", nil},
		{"last pad byte missing", riffFile(plain(), data, part("inst", make([]byte, 7))[:15]), "WAV", nil},
		{"pad byte missing in front of the samples", riffFile(plain(), odd[:15], data), "WAV", []Fault{OddSize}},
		{"pad byte missing in front of the format", riffFile(part("ICMT", []byte("a"))[:9], plain(), data), "WAV", []Fault{OddSize}},
		{"pad byte that is not zero", riffFile(append(odd[:15:15], 'x'), plain(), data), "WAV", nil},
		{"length unknown, all ones", sized("RIFF", unknownSize, append([]byte("WAVE"), append(plain(), sized("data", unknownSize, four)...)...)), "WAV", []Fault{NoLength}},
		{"length unknown, 0x7FFFF000", sized("RIFF", soxSize+36, append([]byte("WAVE"), append(plain(), sized("data", soxSize, four)...)...)), "WAV", []Fault{NoLength}},
		{"length unknown, zeros", sized("RIFF", 0, append([]byte("WAVE"), append(plain(), sized("data", 0, four)...)...)), "WAV", []Fault{NoLength}},
		{"samples after a size that was never set", sized("RIFF", 36, append([]byte("WAVE"), append(plain(), sized("data", 0, four)...)...)), "WAV", []Fault{NoLength}},
		{"ID3 in front", append([]byte("ID3\x03\x00\x00\x00\x00\x01\x00"), append(make([]byte, 128), riffFile(plain(), data)...)...), "WAV", nil},
		{"RF64", append(sized("RF64", unknownSize, []byte("WAVE")), bytes.Join([][]byte{ds64Part(72+8, 8, 4), plain(), sized("data", unknownSize, four)}, nil)...), "RF64", nil},
		{"BW64 with a count that means nothing", append(sized("BW64", unknownSize, []byte("WAVE")), bytes.Join([][]byte{ds64Part(80, 8, 77), plain(), sized("data", unknownSize, four)}, nil)...), "BW64", nil},
		{"RF64 whose size field stands as it is", append(sized("RF64", unknownSize, []byte("WAVE")), bytes.Join([][]byte{ds64Part(80, 1<<40, 4), plain(), sized("data", 8, four)}, nil)...), "RF64", nil},
		{"RF64 with a wrong count", append(sized("RF64", unknownSize, []byte("WAVE")), bytes.Join([][]byte{ds64Part(80, 8, 5), plain(), sized("data", unknownSize, four)}, nil)...), "RF64", []Fault{OddHeader}},
		{"RIFX", bigEndian(riffFile(odd, plain(), data, odd), 2), "RIFX", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := openBytes(t, c.file)
			same(t, readAll(t, r), fourSamples)
			i := r.Info()
			if i.Format != c.format || i.RateHz != 8000 || i.Channels != 1 || i.Bits != 16 || i.Frames != 4 {
				t.Errorf("read as %+v", i)
			}
			faults(t, r, c.warnings)
			p, err := Stream("pipe", bytes.NewReader(c.file))
			if err != nil {
				t.Fatal(err)
			}
			same(t, readAll(t, p), fourSamples)
		})
	}
}

// faults compares the kinds of warnings.
func faults(t testing.TB, r *Reader, want []Fault) {
	t.Helper()
	w := r.Warnings()
	ok := len(w) == len(want)
	for i := range min(len(w), len(want)) {
		ok = ok && w[i].Fault == want[i]
	}
	if !ok {
		t.Errorf("warnings %q, want the kinds %q", w, want)
	}
}

// TestEveryFormatBigEndian: RIFX of 24 bits too, which a common converter
// decodes wrongly.
func TestEveryFormatBigEndian(t *testing.T) {
	little := riffFile(fmtPart(tagPCM, 2, 44100, 24), part("data", []byte{0xFF, 0xFF, 0x7F, 0x00, 0x00, 0x80, 0x00, 0x00, 0x40, 0xFF, 0xFF, 0xFF}))
	same(t, readAll(t, openBytes(t, bigEndian(little, 3))), readAll(t, openBytes(t, little)))
	floats := riffFile(fmtPart(tagFloat, 1, 44100, 64), part("data", []byte{0, 0, 0, 0, 0, 0, 0xE0, 0xBF}))
	same(t, readAll(t, openBytes(t, bigEndian(floats, 8))), []float64{-0.5})
}

// TestSkip: passing over frames and reading on is reading on; in a file, in a
// pipe, at once and bit by bit.
func TestSkip(t *testing.T) {
	sound := testSound(5000, 2, 24)
	m := &memory{}
	w, err := NewWriter(m, Format{RateHz: 48000, Channels: 2, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(sound); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	for _, open := range []func() (*Reader, error){
		func() (*Reader, error) { return Open("file", bytes.NewReader(m.b), int64(len(m.b))) },
		func() (*Reader, error) { return Open("growing", bytes.NewReader(m.b), -1) },
		func() (*Reader, error) { return Stream("pipe", bytes.NewReader(m.b)) },
	} {
		for _, steps := range [][]int64{{0}, {1}, {4999}, {5000}, {6000}, {1 << 40}, {10, 2000, 3}} {
			r, err := open()
			if err != nil {
				t.Fatal(err)
			}
			var passed int64
			for _, n := range steps {
				if err := r.Skip(n); err != nil {
					t.Fatal(err)
				}
				passed += n
			}
			same(t, readAll(t, r), sound[min(passed, 5000)*2:])
		}
	}
}

// TestBroadcastStart: date and time of a broadcast extension, its time
// reference as the fraction, wherever the chunk stands.
func TestBroadcastStart(t *testing.T) {
	b := make([]byte, bextFixed)
	copy(b[bextDate:], "2026:11:25")
	copy(b[bextTime:], "13.45.07")
	binary.LittleEndian.PutUint64(b[bextReference:], 49507.5*8000) // 13:45:07.5 at 8 kHz
	want := time.Date(2026, 11, 25, 13, 45, 7, 500_000_000, time.Local)
	for _, file := range [][]byte{
		riffFile(part("bext", b), plain(), part("data", four)),
		riffFile(plain(), part("data", four), part("bext", b)),
	} {
		if got := openBytes(t, file).Info().Started; !got.Equal(want) {
			t.Errorf("started %v, want %v", got, want)
		}
	}
	copy(b[bextDate:], "2026-13-45")
	if got := openBytes(t, riffFile(part("bext", b), plain(), part("data", four))).Info().Started; !got.IsZero() {
		t.Errorf("started %v by a date that is none", got)
	}
}

// TestChunksAreListed with their places, those after the samples too.
func TestChunksAreListed(t *testing.T) {
	r := openBytes(t, riffFile(part("LIST", make([]byte, 5)), plain(), part("data", four), part("cue ", make([]byte, 4))))
	want := []Chunk{{"LIST", 20, 5}, {"fmt ", 34, 16}, {"data", 58, 8}, {"cue ", 74, 4}}
	got := r.Info().Chunks
	if len(got) != len(want) {
		t.Fatalf("chunks %v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("chunk %v, want %v", got[i], want[i])
		}
	}
}

// TestReadsWhileGrowing: a live recording read to where it has come, and again
// when it is longer.
func TestReadsWhileGrowing(t *testing.T) {
	m := &memory{}
	w, err := NewWriter(m, Format{RateHz: 48000, Channels: 1, Bits: 16})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Open("live", bytes.NewReader(m.b), int64(len(m.b))); err == nil {
		t.Error("a recording without samples was opened")
	}
	for round := 1; round <= 3; round++ {
		if err := w.Write([]float64{0.5, -0.5}); err != nil {
			t.Fatal(err)
		}
		r := openBytes(t, m.b)
		if got := readAll(t, r); len(got) != 2*round || r.Info().Frames != int64(2*round) || r.Info().FramesStated != -1 {
			t.Errorf("round %d: %v, %+v", round, got, r.Info())
		}
	}
}

// TestAfterTheEnd: the end stays the end, and a closed reader reads nothing.
func TestAfterTheEnd(t *testing.T) {
	r := openBytes(t, riffFile(plain(), part("data", four)))
	readAll(t, r)
	if n, err := r.Read(make([]float64, 4)); n != 0 || err != io.EOF {
		t.Errorf("%d frames after the end, %v", n, err)
	}
	if err := r.Skip(3); err != nil {
		t.Error(err)
	}
	r = openBytes(t, riffFile(plain(), part("data", four)))
	r.Close()
	if _, err := r.Read(make([]float64, 4)); err == nil {
		t.Error("a closed reader reads")
	}
}

// TestPeakBeyondFullScale is kept and told.
func TestPeakBeyondFullScale(t *testing.T) {
	r := openBytes(t, riffFile(fmtPart(tagFloat, 1, 8000, 32), part("data", []byte{0, 0, 0x20, 0x40})))
	same(t, readAll(t, r), []float64{2.5})
	faults(t, r, []Fault{OddValues})
	if math.IsNaN(r.Rate()) {
		t.Error("no rate")
	}
}

// TestSniff: sound is told from everything else by its first bytes, also such
// sound as is then refused with a reason.
func TestSniff(t *testing.T) {
	for _, c := range []struct {
		head string
		want bool
	}{
		{"RIFF\x24\x00\x00\x00WAVEfmt ", true}, {"RIFX\x00\x00\x00\x24WAVEfmt ", true}, {"RF64\xFF\xFF\xFF\xFFWAVEds64", true}, {"BW64\xFF\xFF\xFF\xFFWAVEds64", true},
		{"fLaC\x00\x00\x00\x22\x10\x00\x10\x00", true}, {"ID3\x03\x00\x00\x00\x00\x01\x00", true}, {"OggS\x00\x02\x00\x00\x00\x00\x00\x00", true},
		{"FORM\x00\x00\x00\x00AIFFCOMM", true}, {"\xFF\xFB\x90\x64\x00\x00\x00\x00\x00\x00\x00\x00", true},
		{"RIFF\x24\x00\x00\x00AVI LIST", false}, {"RIFF", false}, {"time,frequency\n", false}, {"", false}, {"\xFF\xFEt\x00i\x00m\x00e\x00,\x00", false},
		{"\xEF\xBB\xBFtime;Hz\n", false}, {"PK\x03\x04", false}, {"%PDF-1.7", false},
	} {
		if got := Sniff([]byte(c.head)); got != c.want {
			t.Errorf("%q is sound: %t", c.head, got)
		}
	}
}
