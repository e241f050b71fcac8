package signal

import (
	"context"
	"io"
	"testing"
)

// endless gives a minute of noise over and over.
type endless struct {
	noise []float64
	left  int
}

func (e *endless) Rate() float64 { return 48000 }
func (e *endless) Channels() int { return 1 }
func (e *endless) Read(dst []float64) (int, error) {
	if e.left == 0 {
		return 0, io.EOF
	}
	at := e.left % len(e.noise)
	n := copy(dst[:min(len(dst), e.left)], e.noise[at:])
	e.left -= n
	return n, nil
}

// Ten minutes of 48 kHz; bytes a second are of 16-bit samples.
func BenchmarkWelch(b *testing.B) {
	src := &endless{noise: hiss(60*48000, 0.1, 1)}
	b.SetBytes(2 * 600 * 48000)
	for b.Loop() {
		src.left = 600 * 48000
		if _, err := Welch(context.Background(), src, SpectrumOptions{}, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLoudness(b *testing.B) {
	for name, o := range map[string]LoudnessOptions{"plain": {}, "true peak": {TruePeak: true}} {
		b.Run(name, func(b *testing.B) {
			src := &endless{noise: hiss(60*48000, 0.1, 1)}
			b.SetBytes(2 * 600 * 48000)
			for b.Loop() {
				src.left = 600 * 48000
				if _, err := MeasureLoudness(context.Background(), src, o, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLevelTrack(b *testing.B) {
	src := &endless{noise: hiss(60*48000, 0.1, 1)}
	b.SetBytes(2 * 600 * 48000)
	for b.Loop() {
		src.left = 600 * 48000
		if _, err := TrackLevel(context.Background(), src, LevelTrackOptions{Band: [2]float64{300, 3000}}, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNoiseBandwidth(b *testing.B) {
	s := receiverNoise(b, bandFilter(b, 16000, 600, 2800, 4), 60, 0, 1)
	for b.Loop() {
		if _, err := NoiseBandwidth(s, BandwidthOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPictures(b *testing.B) {
	src := &endless{noise: hiss(60*48000, 0.1, 1)}
	b.Run("overview", func(b *testing.B) {
		b.SetBytes(2 * 600 * 48000)
		for b.Loop() {
			src.left = 600 * 48000
			if _, err := MakeOverview(context.Background(), src, 1000, 600*48000, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("spectrogram", func(b *testing.B) {
		b.SetBytes(2 * 600 * 48000)
		for b.Loop() {
			src.left = 600 * 48000
			if _, err := Spectrogramme(context.Background(), src, SpectrogramOptions{Frames: 600 * 48000}, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
}
