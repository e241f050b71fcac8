//go:build linux

package list_test

import (
	"context"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
	"testing"
	"time"

	"setwright/internal/measure"
	"setwright/internal/measure/list"
	"setwright/internal/run"
	"setwright/signal"
)

const longRate = 8000.0

// loop is a recording of any length made of one minute over and over.
type loop struct {
	minute []float64
	at     int
	left   int64
}

func (l *loop) Rate() float64 { return longRate }
func (l *loop) Channels() int { return 1 }
func (l *loop) Close() error  { return nil }
func (l *loop) Read(dst []float64) (int, error) {
	if l.left == 0 {
		return 0, io.EOF
	}
	n := copy(dst[:min(int64(len(dst)), l.left)], l.minute[l.at:])
	l.at = (l.at + n) % len(l.minute)
	l.left -= int64(n)
	return n, nil
}

// minuteOf is a minute of a tone of 1 kHz and hum in noise, its level moved.
func minuteOf(level func(t float64) float64) []float64 {
	rng := rand.New(rand.NewPCG(3, 4))
	x := make([]float64, int(60*longRate))
	for i := range x {
		t := float64(i) / longRate
		v := 0.1*level(t)*math.Sin(2*math.Pi*1000*t) + 0.002*math.Sin(2*math.Pi*100*t) + 0.003*rng.NormFloat64()
		x[i] = math.Round(v*32768) / 32768
	}
	return x
}

// bandOfHiss is a minute of noise as a set passes it on.
func bandOfHiss(t *testing.T) []float64 {
	rng := rand.New(rand.NewPCG(5, 6))
	x := make([]float64, int(60*longRate))
	for i := range x {
		x[i] = 0.1 * rng.NormFloat64()
	}
	f, err := signal.BandPass(longRate, 800, 2400, 6)
	if err != nil {
		t.Fatal(err)
	}
	f.Process(x)
	for i, v := range x {
		x[i] = math.Round(32768*(v+1e-4*rng.NormFloat64())) / 32768
	}
	return x
}

func longRecording(role string, hours float64, minute []float64, labels map[string]string) measure.Recording {
	frames := int64(hours * 3600 * longRate)
	return measure.Recording{
		Recording: run.Recording{Role: role, Name: role + ".wav", RateHz: longRate, Channels: 1, Frames: frames, Labels: labels,
			Started: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)},
		Open: func(context.Context) (measure.SourceCloser, error) { return &loop{minute: minute, left: frames}, nil },
	}
}

// peakMemory is the greatest resident size since it was last set back, MB.
func peakMemory(t *testing.T) float64 {
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip("the system does not tell its memory: not checked")
	}
	for line := range strings.Lines(string(text)) {
		if f := strings.Fields(line); f[0] == "VmHWM:" {
			kB, _ := strconv.ParseFloat(f[1], 64)
			return kB / 1024
		}
	}
	t.Skip("the system does not tell its memory: not checked")
	return 0
}

// A recording of a day is analysed in little memory, whatever is measured.
func TestDayLongRecordingsInLittleMemory(t *testing.T) {
	if os.Getenv("SETWRIGHT_COVERAGE") != "full" {
		t.Skip("days of sound take minutes: run with SETWRIGHT_COVERAGE=full")
	}
	const hours, mostMB = 24, 64
	// As the workshop does for recordings.
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(36 << 20))
	steady := minuteOf(func(float64) float64 { return 1 })
	stepped := minuteOf(func(t float64) float64 {
		if math.Mod(t, 10) < 5 {
			return 1
		}
		return 2 + 2*math.Exp(-math.Mod(t, 5)/0.2)
	})
	fading := minuteOf(func(t float64) float64 { return 1 + 0.5*math.Sin(2*math.Pi*t) })
	hiss := minuteOf(func(float64) float64 { return 0 })
	for _, c := range []struct {
		kind    string
		options map[string]string
		all     []measure.Recording
	}{
		{"drift", nil, []measure.Recording{longRecording("beat", hours, steady, nil)}},
		{"bfo", nil, []measure.Recording{longRecording("beat", hours, steady, nil)}},
		{"agc", nil, []measure.Recording{longRecording("step", hours, stepped, map[string]string{"step": "12"}), longRecording("fading", hours, fading, map[string]string{"rate": "1", "modulation": "50"}), longRecording("keyed", hours, stepped, nil)}},
		{"audio", nil, []measure.Recording{longRecording("tone", hours, steady, map[string]string{"modulation": "30"}), longRecording("hum", hours, hiss, nil), longRecording("sweep", hours, steady, nil)}},
		{"audio", nil, []measure.Recording{longRecording("set", hours, steady, nil), longRecording("reference", hours, steady, nil)}},
		{"selectivity", map[string]string{"method": "noise", "detection": "bfo"}, []measure.Recording{longRecording("noise", hours, bandOfHiss(t), nil)}},
		{"sensitivity", nil, []measure.Recording{longRecording("output", hours, steady, map[string]string{"signal": "on", "input": "-100 dBm"}), longRecording("output", hours, hiss, map[string]string{"signal": "off"})}},
	} {
		t.Run(c.kind+"/"+c.all[0].Role, func(t *testing.T) {
			r, err := list.Registry()
			if err != nil {
				t.Fatal(err)
			}
			m, err := r.Get(c.kind)
			if err != nil {
				t.Fatal(err)
			}
			debug.FreeOSMemory()
			if os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) != nil {
				t.Skip("the peak of memory cannot be set back: not checked")
			}
			_, err = m.Analyse(context.Background(), measure.Raw{RunID: "long", Options: c.options, Recordings: c.all}, func(float64) {})
			if err != nil {
				t.Fatal(err)
			}
			if mb := peakMemory(t); mb > mostMB {
				t.Errorf("%.1f MB at most, expected less than %d", mb, mostMB)
			} else {
				t.Logf("%.1f MB at most", mb)
			}
		})
	}
}
