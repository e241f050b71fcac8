package recording

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/mewkiz/flac"
)

// scipyFiles is where Debian's python3-scipy keeps its test recordings.
const scipyFiles = "/usr/lib/python3/dist-packages/scipy/io/tests/data"

// TestSciPyFiles: the test recordings of SciPy 1.10.1. Expected values are what
// scipy.io.wavfile reads from them, which for the file of 24 bits ffmpeg and sox
// read too; full scale is 2^31, 2^63 or 128.
func TestSciPyFiles(t *testing.T) {
	if _, err := os.Stat(scipyFiles); err != nil {
		t.Skip("python3-scipy is not installed: its test recordings were not read")
	}
	const i32, i64 = 1 << 31, 1 << 63
	for _, c := range []struct {
		name     string
		rate     float64
		channels int
		frames   int
		full     float64
		first    []float64
		warnings []Fault
		problem  string
	}{
		{name: "44100Hz-2ch-32bit-float-be", rate: 44100, channels: 2, frames: 441, full: 1, first: []float64{0, 0, 0.05011868}},
		{name: "44100Hz-2ch-32bit-float-le", rate: 44100, channels: 2, frames: 441, full: 1, first: []float64{0, 0, 0.05011868}},
		{name: "44100Hz-be-1ch-4bytes", rate: 44100, channels: 1, frames: 4410, full: i32, first: []float64{9538171, 211394107, 428130516}},
		{name: "44100Hz-le-1ch-4bytes", rate: 44100, channels: 1, frames: 4410, full: i32, first: []float64{9538171, 211394107, 428130516}},
		{name: "44100Hz-le-1ch-4bytes-early-eof", rate: 44100, channels: 1, frames: 236, full: i32, first: []float64{9538171, 211394107}, warnings: []Fault{LostEnd}},
		{name: "44100Hz-le-1ch-4bytes-early-eof-no-data", problem: "no samples"},
		{name: "44100Hz-le-1ch-4bytes-incomplete-chunk", problem: "the end of the file"},
		{name: "48000Hz-2ch-64bit-float-le-wavex", rate: 48000, channels: 2, frames: 480, full: 1, first: []float64{0, 0, 0.04605122}},
		{name: "8000Hz-be-3ch-5S-24bit", rate: 8000, channels: 3, frames: 5, full: i32, first: []float64{-2147483648, -2147483392, -512, -1073741824}},
		{name: "8000Hz-le-3ch-5S-24bit", rate: 8000, channels: 3, frames: 5, full: i32, first: []float64{-2147483648, -2147483392, -512, -1073741824}},
		{name: "8000Hz-le-3ch-5S-24bit-inconsistent", problem: "frames of 4 bytes"},
		{name: "8000Hz-le-1ch-10S-20bit-extra", rate: 1234, channels: 1, frames: 10, full: i32, first: []float64{2147479552, -2147479552, 1073739776, -1073739776}, warnings: []Fault{OddValues}},
		{name: "8000Hz-le-1ch-1byte-ulaw", rate: 8000, channels: 1, frames: 9, full: 1},
		{name: "8000Hz-le-2ch-1byteu", rate: 8000, channels: 2, frames: 800, full: 128, first: []float64{8, 8, 61, 61, 89, 90}},
		{name: "8000Hz-le-3ch-5S-36bit", rate: 8000, channels: 3, frames: 5, full: i64, first: []float64{-9223372036854775808, -9223372036586340352, -536870912}},
		{name: "8000Hz-le-3ch-5S-45bit", rate: 8000, channels: 3, frames: 5, full: i64, first: []float64{-9223372036854775808, -9223372036854251520, -1048576}},
		{name: "8000Hz-le-3ch-5S-53bit", rate: 8000, channels: 3, frames: 5, full: i64, first: []float64{-9223372036854775808, -9223372036854773760, -4096}},
		{name: "8000Hz-le-3ch-5S-64bit", rate: 8000, channels: 3, frames: 5, full: i64, first: []float64{-9223372036854775808, -9223372036854775807, -2}},
		{name: "8000Hz-le-4ch-9S-12bit", rate: 8000, channels: 4, frames: 9, full: 1 << 15, first: []float64{0, 0, 0, 0, 23168, 32752}},
		{name: "8000Hz-le-5ch-9S-5bit", rate: 8000, channels: 5, frames: 9, full: 128, first: []float64{0, 0, 0, 0, 0, 88}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, err := os.ReadFile(filepath.Join(scipyFiles, "test-"+c.name+".wav"))
			if err != nil {
				t.Skip("the file is not there:", err)
			}
			r, err := Open(c.name, bytes.NewReader(b), int64(len(b)))
			if c.problem != "" {
				if err == nil || !strings.Contains(err.Error(), c.problem) {
					t.Fatalf("error %v, want one of %q", err, c.problem)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			got := readAll(t, r)
			if r.Rate() != c.rate || r.Channels() != c.channels || len(got) != c.frames*c.channels {
				t.Errorf("%d samples, read as %+v", len(got), r.Info())
			}
			for i, want := range c.first {
				tol := 0.0
				if c.full == 1 {
					tol = 5e-9 // the printed digits of the floats
				}
				if math.Abs(got[i]-want/c.full) > tol {
					t.Errorf("sample %d is %v, want %v", i, got[i]*c.full, want)
				}
			}
			faults(t, r, c.warnings)
		})
	}
}

// moduleDir finds the folder of a module that is in the module cache.
func moduleDir(t *testing.T, module string) string {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", module).Output()
	dir := strings.TrimSpace(string(out))
	if err != nil || dir == "" {
		t.Skipf("%s is not in the module cache: its recordings were not read", module)
	}
	return dir
}

// TestFLACModuleFiles: the recordings that the module mewkiz/flac (public
// domain) tests itself with, decoded by that module too. One has an ID3 tag in
// front and broken comments, and of its 208 s only the first frames are left.
func TestFLACModuleFiles(t *testing.T) {
	dir := moduleDir(t, "github.com/mewkiz/flac")
	files, _ := filepath.Glob(filepath.Join(dir, "testdata", "*.flac"))
	if len(files) == 0 {
		t.Skip("the module has no test recordings")
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			r := openBytes(t, b)
			same(t, readAll(t, r), throughModule(t, b))
			if filepath.Base(file) == "id3.flac" {
				faults(t, r, []Fault{LostEnd})
				return
			}
			faults(t, r, nil)
		})
	}
}

// throughModule decodes a FLAC stream by the module mewkiz/flac, as far as it
// goes.
func throughModule(t *testing.T, b []byte) (out []float64) {
	t.Helper()
	stream, err := flac.New(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	full := math.Ldexp(1, int(stream.Info.BitsPerSample)-1)
	for {
		f, err := stream.ParseNext()
		if err != nil {
			return out
		}
		for i := range int(f.BlockSize) {
			for _, s := range f.Subframes {
				out = append(out, float64(s.Samples[i])/full)
			}
		}
	}
}

// TestWAVModuleFiles: recordings of the module go-audio/wav v1.1.0 (Apache-2.0)
// with chunks of all kinds around the samples, where it is in the module cache.
// Sizes are of the files' own headers; sox counts the same frames.
func TestWAVModuleFiles(t *testing.T) {
	root, err := exec.Command("go", "env", "GOMODCACHE").Output()
	if err != nil {
		t.Skip("no module cache")
	}
	files, _ := filepath.Glob(filepath.Join(strings.TrimSpace(string(root)), "github.com/go-audio/wav@v1.1.0/fixtures/*.wav"))
	if len(files) == 0 {
		t.Skip("go-audio/wav is not in the module cache: its recordings were not read")
	}
	needTool(t, "sox")
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			r := openBytes(t, b)
			same(t, readAll(t, r), throughSox(t, file))
			for _, w := range r.Warnings() {
				t.Log(w)
			}
		})
	}
}

// throughSox is what sox reads from a file, without dither.
func throughSox(t *testing.T, file string) []float64 {
	t.Helper()
	raw := run(t, "sox", "-D", "-V1", file, "-t", "raw", "-e", "signed-integer", "-b", "32", "-L", "-")
	out := make([]float64, len(raw)/4)
	signed32(out, raw)
	return out
}
