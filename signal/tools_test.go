package signal

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// rawFloats are samples as 64-bit little-endian floating point.
func rawFloats(x []float64) *bytes.Buffer {
	var b bytes.Buffer
	for _, v := range x {
		binary.Write(&b, binary.LittleEndian, math.Float64bits(v))
	}
	return &b
}

// said runs a general tool on samples and returns what it printed.
func said(t *testing.T, x []float64, name string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skip(name + " is not installed: not compared")
	}
	cmd := exec.Command(name, args...)
	cmd.Stdin = rawFloats(x)
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s: %v: %s", name, err, out.String())
	}
	return out.String()
}

// last is the number after the last place where a pattern stands.
func last(t *testing.T, text, pattern string) float64 {
	t.Helper()
	all := regexp.MustCompile(pattern+`(-?[0-9.]+)`).FindAllStringSubmatch(text, -1)
	if len(all) == 0 {
		t.Fatalf("no %q in %q", pattern, text)
	}
	v, err := strconv.ParseFloat(all[len(all)-1][1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// A recording with fades, a tone and noise, two unlike channels: our figures
// and those of ffmpeg's ebur128 (which rounds powers: 0.02 LU).
func TestLoudnessAgainstFFmpeg(t *testing.T) {
	for _, rate := range []float64{48000, 44100} {
		src := kiloTones(rate, part(6, -20, -26), part(6, -38, -30), part(8, -16, -23), part(6, -50, -45))
		noise := hiss(len(src.x), 0.003, 1)
		for i := range src.x {
			src.x[i] += noise[i]
		}
		text := said(t, src.x, "ffmpeg", "-v", "error", "-f", "f64le", "-ar", fmt.Sprint(rate), "-ac", "2", "-i", "-",
			"-af", "ebur128=metadata=1:peak=true,ametadata=print:file=-", "-f", "null", "-")
		l := loudnessOf(t, src, LoudnessOptions{TruePeak: true})
		within(t, "integrated", l.Integrated, last(t, text, `lavfi\.r128\.I=`), 0.02)
		within(t, "range", l.Range, last(t, text, `lavfi\.r128\.LRA=`), 0.2)
		momentary := math.Inf(-1)
		for _, m := range regexp.MustCompile(`lavfi\.r128\.M=(\S+)`).FindAllStringSubmatch(text, -1) {
			if v, err := strconv.ParseFloat(m[1], 64); err == nil {
				momentary = max(momentary, v)
			}
		}
		within(t, "greatest momentary", l.MaxMomentary, momentary, 0.05)
		peak := 0.0
		for _, m := range regexp.MustCompile(`lavfi\.r128\.true_peaks_ch\d=(\S+)`).FindAllStringSubmatch(text, -1) {
			if v, err := strconv.ParseFloat(m[1], 64); err == nil {
				peak = max(peak, v)
			}
		}
		if peak > 0 {
			inside(t, "true peak", l.TruePeakDB-20*math.Log10(peak), -0.1, 0.1)
		}
	}
}

// The rms of sox is re peak 1, ours re the rms of a full-scale sine: 3.01 dB
// apart.
func TestLevelAgainstSox(t *testing.T) {
	x := hiss(96000, 0.1, 3)
	for i := range x {
		x[i] += 0.05
	}
	text := said(t, x, "sox", "-t", "f64", "-r", "48000", "-c", "1", "-", "-n", "stats")
	l := levelOf(t, x)
	within(t, "DC", l.DC, last(t, text, `DC offset\s+`), 1e-5)
	withDC := math.Sqrt(l.RMS*l.RMS + l.DC*l.DC) // sox leaves the mean in
	within(t, "rms", DBFS(withDC)-3.0103, last(t, text, `RMS lev dB\s+`), 0.006)
	within(t, "peak", 20*math.Log10(l.Peak), last(t, text, `Pk lev dB\s+`), 0.006)
	if !strings.Contains(text, "RMS lev") {
		t.Error("sox says something else than expected")
	}
}
