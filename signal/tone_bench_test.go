package signal

import (
	"context"
	"io"
	"math"
	"runtime"
	"sync"
	"testing"
)

// looped is a tone with its second harmonic, hum and noise of any length, made
// as it is read.
type looped struct {
	table []float64
	at    int
	left  int64
}

var loopedTable = sync.OnceValue(func() []float64 {
	return sixteenBits(tones(testRate, 10, 0.003, 1, 997, 0.3, 1994, 0.003, 50, 0.002, 100, 0.004))
})

func newLooped(seconds float64) *looped {
	return &looped{table: loopedTable(), left: int64(seconds * testRate)}
}

func (e *looped) Rate() float64 { return testRate }
func (e *looped) Channels() int { return 1 }
func (e *looped) Read(dst []float64) (int, error) {
	if e.left == 0 {
		return 0, io.EOF
	}
	n := copy(dst[:min(int64(len(dst)), e.left)], e.table[e.at:])
	e.at = (e.at + n) % len(e.table)
	e.left -= int64(n)
	return n, nil
}

// Memory does not grow with the length of a recording.
func TestAnalysisMemoryIsConstant(t *testing.T) {
	if testing.Short() {
		t.Skip("three minutes of sound: not in a short run")
	}
	used := func(seconds float64, f func(src Source)) uint64 {
		runtime.GC()
		var before, after runtime.MemStats
		src := newLooped(seconds)
		runtime.ReadMemStats(&before)
		f(src)
		runtime.GC()
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	for name, f := range map[string]func(Source){
		"tone":       func(s Source) { _, _ = AnalyseTone(context.Background(), s, ToneOptions{}, nil) },
		"inspection": func(s Source) { _, _ = Inspect(context.Background(), s, InspectOptions{}, nil) },
	} {
		short, long := used(40, f), used(160, f)
		if grown := float64(long) - float64(short); grown > 16e6 {
			t.Errorf("%s: %.1f MB allocated for 40 s, %.1f MB for 160 s", name, float64(short)/1e6, float64(long)/1e6)
		}
	}
}

// A minute of sound at 48 kHz.
func benchMinute(b *testing.B, f func(src Source) error) {
	b.Helper()
	b.ReportAllocs()
	newLooped(0) // its making is no part of the work
	b.ResetTimer()
	for range b.N {
		if err := f(newLooped(60)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(60*float64(b.N)/math.Max(1e-9, b.Elapsed().Seconds()), "times-real-time")
}

func BenchmarkAnalyseTone(b *testing.B) {
	benchMinute(b, func(s Source) error { _, err := AnalyseTone(context.Background(), s, ToneOptions{}, nil); return err })
}

func BenchmarkFindHum(b *testing.B) {
	benchMinute(b, func(s Source) error {
		_, err := FindHum(context.Background(), s, HumOptions{Avoid: []float64{997}}, nil)
		return err
	})
}

func BenchmarkInspect(b *testing.B) {
	benchMinute(b, func(s Source) error { _, err := Inspect(context.Background(), s, InspectOptions{}, nil); return err })
}

func BenchmarkWatcher(b *testing.B) {
	benchMinute(b, func(s Source) error {
		w, buf := NewWatcher(testRate), make([]float64, 4800)
		for {
			n, err := s.Read(buf)
			if err == io.EOF {
				return nil
			}
			w.Add(buf[:n])
		}
	})
}
