package recording

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// benchmarkRead reads a file in memory to its end; bytes are those of the
// samples as float64.
func benchmarkRead(b *testing.B, file []byte) {
	block := make([]float64, 1<<14)
	var samples int64
	for range b.N {
		r, err := Open("x", bytes.NewReader(file), int64(len(file)))
		if err != nil {
			b.Fatal(err)
		}
		for {
			n, err := r.Read(block)
			samples += int64(n * r.Channels())
			if err != nil {
				break
			}
		}
		r.Close()
	}
	b.SetBytes(8 * samples / int64(b.N))
}

func BenchmarkReadWAV(b *testing.B) {
	for name, f := range map[string]Format{
		"16": {RateHz: 48000, Channels: 1, Bits: 16}, "24": {RateHz: 48000, Channels: 1, Bits: 24}, "float": {RateHz: 48000, Channels: 1, Bits: 32, Float: true},
	} {
		b.Run(name, func(b *testing.B) {
			m := &memory{}
			w, err := NewWriter(m, f)
			if err != nil {
				b.Fatal(err)
			}
			if err := w.Write(testSound(1_000_000, 1, 16)); err != nil {
				b.Fatal(err)
			}
			benchmarkRead(b, m.b)
		})
	}
}

func BenchmarkReadFLAC(b *testing.B) {
	needTool(b, "flac")
	for name, channels := range map[string]int{"mono": 1, "stereo": 2} {
		b.Run(name, func(b *testing.B) {
			wav, out := filepath.Join(b.TempDir(), "x.wav"), filepath.Join(b.TempDir(), "x.flac")
			writeWAV(b, wav, testSound(1_000_000, channels, 16), Format{RateHz: 48000, Channels: channels, Bits: 16})
			run(b, "flac", "-s", "-o", out, wav)
			file, err := os.ReadFile(out)
			if err != nil {
				b.Fatal(err)
			}
			benchmarkRead(b, file)
		})
	}
}

func BenchmarkWrite16(b *testing.B) {
	x := testSound(1<<16, 1, 16)
	b.SetBytes(int64(8 * len(x)))
	m := &memory{}
	w, err := NewWriter(m, Format{RateHz: 48000, Channels: 1, Bits: 16})
	if err != nil {
		b.Fatal(err)
	}
	for range b.N {
		m.pos = 0
		if err := w.Write(x); err != nil {
			b.Fatal(err)
		}
	}
}
