package intake

import (
	"context"
	"fmt"
	"strings"
	"testing"
)

// benchLog is a log of n lines in one of two dialects.
func benchLog(n int, german bool) []byte {
	var b strings.Builder
	if german {
		b.WriteString("Uhrzeit;Frequenz (kHz);Temperatur (°C)\n")
	} else {
		b.WriteString("time (s),frequency (Hz),ambient (°C)\n")
	}
	for i := range n {
		if german {
			fmt.Fprintf(&b, "%02d:%02d:%02d;7.520,%06d;%d,%02d\n", i/3600%24, i/60%60, i%60, i%100003, 19, i%100)
		} else {
			fmt.Fprintf(&b, "%d.0,7520100.%06d,19.%02d\n", i, i%100003, i%100)
		}
	}
	return []byte(b.String())
}

// BenchmarkRead reads 100,000 lines; bytes per second are of the text.
func BenchmarkRead(b *testing.B) {
	for name, german := range map[string]bool{"plain": false, "clock, decimal commas": true} {
		b.Run(name, func(b *testing.B) {
			data := benchLog(100_000, german)
			src := BytesSource("log", data)
			p, err := Inspect(src, driftColumns(), Override{})
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				rep, err := Read(context.Background(), src, p.Layout, func(*Batch) error { return nil }, nil)
				if err != nil || rep.Rows != 100_000 {
					b.Fatal(rep.Rows, err)
				}
			}
		})
	}
}

// BenchmarkInspect looks at a log of 100,000 lines.
func BenchmarkInspect(b *testing.B) {
	src := BytesSource("log", benchLog(100_000, true))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Inspect(src, driftColumns(), Override{}); err != nil {
			b.Fatal(err)
		}
	}
}
