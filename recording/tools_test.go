package recording

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestFilesOfFFmpeg: what ffmpeg writes is read, whole and from a pipe; the
// samples are those that ffmpeg itself decodes to doubles.
func TestFilesOfFFmpeg(t *testing.T) {
	needTool(t, "ffmpeg")
	dir := t.TempDir()
	for _, c := range []struct{ name, codec, more string }{
		{"u8.wav", "pcm_u8", ""}, {"s16.wav", "pcm_s16le", ""}, {"s24.wav", "pcm_s24le", ""}, {"s32.wav", "pcm_s32le", ""},
		{"f32.wav", "pcm_f32le", ""}, {"f64.wav", "pcm_f64le", ""}, {"alaw.wav", "pcm_alaw", ""}, {"mulaw.wav", "pcm_mulaw", ""},
		{"rf64.wav", "pcm_s24le", "-rf64 always"}, {"six.wav", "pcm_s16le", "-ac 6"},
		{"s16.flac", "flac", "-sample_fmt s16"}, {"s24.flac", "flac", "-sample_fmt s32"}, {"best.flac", "flac", "-compression_level 12"},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := filepath.Join(dir, c.name)
			args := []string{"-v", "error", "-y", "-f", "lavfi", "-i", "aevalsrc=0.8*sin(2*PI*997*t)+0.01*random(0)|0.3*sin(2*PI*50*t):s=44100:d=0.5"}
			args = append(args, strings.Fields("-c:a "+c.codec+" "+c.more)...)
			run(t, "ffmpeg", append(args, file)...)
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			raw := run(t, "ffmpeg", "-v", "error", "-i", file, "-f", "f64le", "-")
			want := make([]float64, len(raw)/8)
			for i := range want {
				want[i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
			}
			r := openBytes(t, b)
			same(t, readAll(t, r), want)
			faults(t, r, nil)
			if filepath.Ext(file) == ".flac" {
				return
			}
			piped := run(t, "ffmpeg", append(args, "-f", "wav", "-")...)
			p, err := Stream("pipe", bytes.NewReader(piped))
			if err != nil {
				t.Fatal(err)
			}
			same(t, readAll(t, p), want)
		})
	}
}

// TestFilesOfSox: the other converter, RIFX of 24 bits and its own size for
// what has no length among them.
func TestFilesOfSox(t *testing.T) {
	needTool(t, "sox")
	dir := t.TempDir()
	for _, c := range []struct{ name, args string }{
		{"16", "-b 16"}, {"24", "-b 24"}, {"32", "-b 32"}, {"8", "-b 8"}, {"float", "-e floating-point -b 32"},
		{"big-endian 16", "-B -b 16"}, {"big-endian 24", "-B -b 24"}, {"mu-law", "-e mu-law"}, {"A-law", "-e a-law"},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := filepath.Join(dir, "x.wav")
			args := append([]string{"-D", "-R", "-V1", "-n", "-r", "48000", "-c", "2"}, strings.Fields(c.args)...)
			run(t, "sox", append(args, file, "synth", "0.3", "sine", "440", "brownnoise", "gain", "-3")...)
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			r := openBytes(t, b)
			want := throughSox(t, file)
			got := readAll(t, r)
			if len(got) != len(want) || len(got) == 0 {
				t.Fatalf("%d samples, sox reads %d", len(got), len(want))
			}
			for i := range want {
				if math.Abs(got[i]-want[i]) > 1.0/(1<<31) { // sox keeps 32 bits
					t.Fatalf("sample %d is %v, sox reads %v", i, got[i], want[i])
				}
			}
			faults(t, r, nil)
		})
	}
	t.Run("pipe", func(t *testing.T) {
		piped := run(t, "sox", "-D", "-V1", "-n", "-r", "48000", "-b", "16", "-t", "wav", "-", "synth", "0.3", "sine", "440")
		r := openBytes(t, piped)
		if n := len(readAll(t, r)); n != 14400 {
			t.Errorf("%d samples, 14400 were made", n)
		}
		faults(t, r, []Fault{NoLength})
	})
}

// TestOurFilesElsewhere: others read what we write, closed or not.
func TestOurFilesElsewhere(t *testing.T) {
	needTool(t, "sox")
	for _, f := range []Format{
		{RateHz: 48000, Channels: 1, Bits: 16}, {RateHz: 44100, Channels: 2, Bits: 24}, {RateHz: 8000, Channels: 3, Bits: 16},
		{RateHz: 96000, Channels: 2, Bits: 32, Float: true},
	} {
		want := testSound(3001, f.Channels, min(f.Bits, 24))
		file := filepath.Join(t.TempDir(), "x.wav")
		writeWAV(t, file, want, f)
		same(t, throughSox(t, file), want)
	}
}
