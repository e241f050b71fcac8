package signal

import (
	"context"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// However long the sound and however many columns: the columns hold all of it.
func TestOverviewHoldsEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := hiss(rapid.IntRange(1, 30000).Draw(t, "n"), 0.1, rapid.Uint64().Draw(t, "seed"))
		columns := rapid.IntRange(1, 300).Draw(t, "columns")
		frames := int64(len(x))
		if rapid.Bool().Draw(t, "length not known") {
			frames = 0
		}
		o, err := MakeOverview(context.Background(), FromSlice(8000, x), columns, frames, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(o.RMS) > 2*columns || (frames > 0 && len(o.RMS) > columns) {
			t.Fatalf("%d columns, asked for %d", len(o.RMS), columns)
		}
		length := int(math.Round(o.ColumnS * 8000))
		if (len(x)+length-1)/length != len(o.RMS) {
			t.Fatalf("%d columns of %d frames for %d frames", len(o.RMS), length, len(x))
		}
		for c := range o.RMS {
			part := x[c*length : min(len(x), (c+1)*length)]
			low, high := part[0], part[0]
			for _, v := range part {
				low, high = min(low, v), max(high, v)
			}
			if low != o.Min[c] || high != o.Max[c] || math.Abs(o.RMS[c]-math.Sqrt(sumSquares(part)/float64(len(part)))) > 1e-12 {
				t.Fatalf("column %d of %d: %v %v %v", c, len(o.RMS), o.Min[c], o.Max[c], o.RMS[c])
			}
		}
	})
}

// A tone that steps from 500 to 1500 Hz half way shows in its rows and columns,
// with the level its power has, length known or not.
func TestSpectrogramOfASteppedTone(t *testing.T) {
	const rate = 8000.0
	x := append(sine(80000, rate, 500, 0.5, 0), sine(80000, rate, 1500, 0.5, 0)...)
	for _, frames := range []int64{160000, 0} {
		s, err := Spectrogramme(context.Background(), FromSlice(rate, x), SpectrogramOptions{Columns: 50, Rows: 40, Frames: frames}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(s.DB) != s.Columns*s.Rows || (frames > 0 && s.Columns != 50) || s.Columns < 50 || s.Columns > 100 {
			t.Fatalf("%d columns, %d numbers", s.Columns, len(s.DB))
		}
		within(t, "length in seconds", float64(s.Columns)*s.ColumnS, 20, s.ColumnS+0.01)
		for c := range s.Columns {
			at := (float64(c) + 0.5) * s.ColumnS
			if math.Abs(at-10) < 2*s.ColumnS || at < s.ColumnS || at > 20-2*s.ColumnS {
				continue
			}
			power := 0.0
			loudest := 0
			for r := range s.Rows {
				db := s.DB[c*s.Rows+r]
				power += math.Pow(10, db/10) * (s.ToHz - s.FromHz) / float64(s.Rows)
				if db > s.DB[c*s.Rows+loudest] {
					loudest = r
				}
			}
			want := 5 // 500 Hz is the edge of rows 4 and 5, of 100 Hz each
			if at > 10 {
				want = 15
			}
			if loudest != want && loudest != want-1 {
				t.Fatalf("at %.1f s row %d is the loudest, expected %d", at, loudest, want)
			}
			within(t, fmt.Sprintf("power at %.1f s, dB", at), 10*math.Log10(power/0.125), 0, 1)
		}
	}
}

func TestPicturesRefuse(t *testing.T) {
	ctx := context.Background()
	if _, err := MakeOverview(ctx, FromSlice(8000, nil), 10, 0, nil); err == nil {
		t.Error("an overview of nothing")
	}
	if _, err := MakeOverview(ctx, FromSlice(8000, []float64{1}), 0, 0, nil); err == nil {
		t.Error("an overview of no columns")
	}
	if _, err := Spectrogramme(ctx, FromSlice(8000, nil), SpectrogramOptions{}, nil); err == nil {
		t.Error("a spectrogram of nothing")
	}
	if _, err := Spectrogramme(ctx, FromSlice(8000, []float64{1}), SpectrogramOptions{FromHz: 5000}, nil); err == nil {
		t.Error("a spectrogram above half the rate")
	}
	if s, err := Spectrogramme(ctx, FromSlice(8000, []float64{0.5}), SpectrogramOptions{}, nil); err != nil || s.Columns < 1 {
		t.Errorf("a spectrogram of one sample: %v", err)
	}
}

// Time weightings F and S fall by 34.74 and 4.343 dB a second (from memory of
// IEC 61672-1; recomputed).
func TestLevelMeterFalls(t *testing.T) {
	for timeS, fall := range map[float64]float64{FastS: 34.74, SlowS: 4.343} {
		m := NewTimedLevelMeter(48000, timeS)
		m.Add(sine(48000*10, 48000, 1000, 0.5, 0))
		before := m.Read()
		within(t, "steady level", before.RMSdBFS, -6.02, 0.02)
		within(t, "peak", before.PeakdBFS, -6.02, 0.001)
		m.Add(make([]float64, 48000))
		within(t, "fall in a second", before.RMSdBFS-m.Read().RMSdBFS, fall, 0.05)
	}
}

func TestLevelMeterHoldsAndCounts(t *testing.T) {
	m := NewLevelMeter(8000)
	if r := m.Read(); !math.IsInf(r.RMSdBFS, -1) || !math.IsInf(r.HoldDBFS, -1) {
		t.Errorf("before any sound: %+v", r)
	}
	m.Add([]float64{32767.0 / 32768, -1, 0.5, math.NaN()})
	if r := m.Read(); r.Clipped != 2 || r.PeakdBFS != 0 {
		t.Errorf("%+v", r)
	}
	for range 15 { // 1.5 s later the peak is held, not shown
		m.Add(make([]float64, 800))
	}
	if r := m.Read(); r.HoldDBFS != 0 || !math.IsInf(r.PeakdBFS, -1) {
		t.Errorf("after 1.5 s: %+v", r)
	}
	for range 15 {
		m.Add(make([]float64, 800))
	}
	if r := m.Read(); !math.IsInf(r.HoldDBFS, -1) {
		t.Errorf("after 3 s: %+v", r)
	}
}

func TestLiveSpectrumOfNoise(t *testing.T) {
	s := NewLiveSpectrum(8000, 1024)
	if s.Density() != nil {
		t.Error("a density of nothing")
	}
	x := hiss(80000, 0.1, 1)
	for len(x) > 0 {
		n := min(333, len(x))
		s.Add(x[:n])
		x = x[n:]
	}
	total := 0.0
	for _, d := range s.Density() {
		total += d * s.DF()
	}
	within(t, "power", total, 0.01, 0.001)
}
