package signal

import (
	"context"
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"
)

// A full-scale sine is 0 dBFS and a square wave of peak 1 is +3.01 dBFS
// (AES17-2015 3.12.1, read in a secondary source).
func TestDBFS(t *testing.T) {
	l, err := MeasureLevel(context.Background(), FromSlice(48000, sine(48000, 48000, 997, 1, 0)), LevelOptions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "full-scale sine", DBFS(l.RMS), 0, 1e-4)
	square := make([]float64, 48000)
	for i := range square {
		square[i] = 1 - 2*float64(i/24%2)
	}
	l, err = MeasureLevel(context.Background(), FromSlice(48000, square), LevelOptions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "square wave", DBFS(l.RMS), 3.0103, 1e-4)
}

func TestLevelLeavesTheMeanOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dc := rapid.Float64Range(-0.9, 0.9).Draw(t, "dc")
		gain := rapid.Float64Range(1e-4, 1).Draw(t, "gain")
		n := rapid.IntRange(2, 40000).Draw(t, "n")
		x := hiss(n, gain, rapid.Uint64().Draw(t, "seed"))
		mean, squares := 0.0, 0.0
		for i := range x {
			x[i] += dc
			mean += x[i] / float64(n)
		}
		for _, v := range x {
			squares += (v - mean) * (v - mean) / float64(n)
		}
		l, err := MeasureLevel(context.Background(), FromSlice(8000, x), LevelOptions{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(l.DC-mean) > 1e-9 || math.Abs(l.RMS*l.RMS-squares) > 1e-12+1e-9*squares {
			t.Fatalf("DC %v and rms %v, expected %v and %v", l.DC, l.RMS, mean, math.Sqrt(squares))
		}
	})
}

// The standard deviation of the level of noise in a band B over T seconds is
// 4.343/sqrt(BT) dB: 0.084 dB for 2700 Hz and 1 s (published formula).
func TestLevelUncertaintyOfNoise(t *testing.T) {
	bp, err := BandPass(48000, 300, 3000, 8)
	if err != nil {
		t.Fatal(err)
	}
	mean := 0.0
	const runs = 40
	for i := range runs {
		x := hiss(48000, 1, uint64(i))
		bp.Fresh().Process(x)
		l, err := MeasureLevel(context.Background(), FromSlice(48000, x), LevelOptions{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		mean += l.U / l.RMS * 8.686 / runs
	}
	within(t, "uncertainty in dB", mean, 0.084, 0.008)
}

func levelOf(t *testing.T, x []float64) Level {
	t.Helper()
	l, err := MeasureLevel(context.Background(), FromSlice(48000, x), LevelOptions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Coverage: the true level lies inside ±2 u (95 %) in 90 % to 99 % of records:
// white noise, the noise of a narrow filter, noise with hum.
func TestLevelCoverage(t *testing.T) {
	records := 60
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		records = 300
	}
	for name, c := range map[string]struct {
		lowHz, highHz float64
		hum           float64
	}{"wide": {0, 0, 0}, "narrow": {950, 1050, 0}, "hum": {300, 3000, 0.02}} {
		inside := 0
		for i := range records {
			x := hiss(40000, 0.1, uint64(1000+i))
			truth := 0.01
			if c.highHz > 0 {
				bp, err := BandPass(8000, c.lowHz, c.highHz, 2)
				if err != nil {
					t.Fatal(err)
				}
				bp.Process(x)
				truth = 0.01 * noiseGain(bp)
				x = x[2000:]
			}
			hum := sine(len(x), 8000, 50, c.hum, 1)
			for j := range x {
				x[j] += hum[j]
			}
			truth += c.hum * c.hum / 2
			l, err := MeasureLevel(context.Background(), FromSlice(8000, x), LevelOptions{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(l.RMS-math.Sqrt(truth)) <= 2*l.U {
				inside++
			}
		}
		share := float64(inside) / float64(records)
		t.Logf("%s: truth inside 95 %% in %.1f %% of %d records", name, 100*share, records)
		low, high := coverageLimits(records)
		if share < low || share > high {
			t.Errorf("%s: truth inside 95 %% in %.1f %% of %d records", name, 100*share, records)
		}
	}
}

// The same for the windows of a level track, of noise in wide and narrow bands.
func TestLevelTrackCoverage(t *testing.T) {
	windows := 120
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		windows = 600
	}
	for name, o := range map[string]LevelTrackOptions{
		"all":         {},
		"voice":       {Band: [2]float64{300, 3000}},
		"narrow":      {Band: [2]float64{950, 1050}},
		"very narrow": {Band: [2]float64{990, 1010}},
		"short":       {StepS: 0.1, Band: [2]float64{300, 3000}},
	} {
		seconds := float64(windows + 1)
		if o.StepS > 0 {
			seconds *= o.StepS
		}
		truth := 0.01
		if o.Band[1] > 0 {
			truth *= noiseGain(bandFilter(t, 8000, o.Band[0], o.Band[1], bandOrder))
		}
		tr, err := TrackLevel(context.Background(), FromSlice(8000, hiss(int(8000*seconds), 0.1, 77)), o, nil)
		if err != nil {
			t.Fatal(err)
		}
		inside := 0
		for i, p := range tr.Power {
			if math.Abs(p-truth) <= 2*tr.U[i] {
				inside++
			}
		}
		share := float64(inside) / float64(len(tr.Power))
		t.Logf("%s: truth inside 95 %% in %.1f %% of %d windows", name, 100*share, len(tr.Power))
		low, high := coverageLimits(windows)
		if share < low || share > high {
			t.Errorf("%s: truth inside 95 %% in %.1f %% of %d windows", name, 100*share, len(tr.Power))
		}
	}
}

// coverageLimits are 90 % and 99 %, wider for few records by their own scatter.
func coverageLimits(records int) (low, high float64) {
	if records >= 300 {
		return 0.90, 0.99
	}
	return 0.95 - 3*math.Sqrt(0.95*0.05/float64(records)), 1
}

// noiseGain is the share of the power of white noise that a filter passes.
func noiseGain(f *Filter) float64 {
	const n = 20000
	sum := 0.0
	for i := range n {
		sum += math.Pow(10, f.DB((float64(i)+0.5)/n*f.RateHz/2)/10) / n
	}
	return sum
}

func TestLevelRefuses(t *testing.T) {
	for _, x := range [][]float64{nil, {1, math.Inf(1)}} {
		if _, err := MeasureLevel(context.Background(), FromSlice(8000, x), LevelOptions{}, nil); err == nil {
			t.Errorf("the level of %v was measured", x)
		}
	}
}
