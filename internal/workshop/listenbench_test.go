package workshop

import (
	"testing"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/wire"
)

// nowhere takes samples and keeps none.
type nowhere struct{ soundSink }

func (nowhere) Append([]float64) error { return nil }
func (nowhere) Note(run.Capture) error { return nil }

// BenchmarkFeed feeds a minute of 48 kHz in blocks of 10 ms through all meters
// and watchers; the time is to be compared with the minute that it may take.
func BenchmarkFeed(b *testing.B) {
	in := fakeInput(60)
	sound := wire.Sound{RateHz: 48000, Channels: 1, Coding: Float32}
	for b.Loop() {
		l := &Listening{shop: New(nil, nil), sound: sound, sink: nowhere{}, meters: newMeters(sound, 0, measure.SoundScale{})}
		for from := 0; from < len(in.Samples); from += 480 {
			if err := l.Feed(LiveBlock{Samples: in.Samples[from : from+480]}); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(60*float64(b.N)/b.Elapsed().Seconds(), "s/s")
}

// BenchmarkStatus is what a live display costs, ten times a second.
func BenchmarkStatus(b *testing.B) {
	in := fakeInput(10)
	sound := wire.Sound{RateHz: 48000, Channels: 1, Coding: Float32}
	m := newMeters(sound, 0, measure.SoundScale{})
	m.add(LiveBlock{Samples: in.Samples})
	for b.Loop() {
		m.toneAt = 0
		m.toneNow()
		m.levelNow()
		bandsOf(m.spectrum.Density(), m.rate)
		m.gaps()
	}
}
