package signal

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func inspect(t *testing.T, x []float64) *Defects {
	t.Helper()
	d, err := Inspect(context.Background(), FromSlice(testRate, x), InspectOptions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Flat tops at full scale, at half of it, and on one side only; none in a loud
// low tone whose natural top is flat for many samples, in noise, or in a peak
// that just touches full scale.
func TestClipping(t *testing.T) {
	clip := func(x []float64, lo, hi float64) []float64 {
		out := append([]float64(nil), x...)
		for i, v := range out {
			out[i] = math.Max(lo, math.Min(hi, v))
		}
		return sixteenBits(out)
	}
	loud := tones(testRate, 3, 0.01, 1, 437, 1.2)
	for name, c := range map[string]struct {
		x     []float64
		level float64
	}{
		"full scale": {clip(loud, -1, 1), 1},
		"half":       {clip(loud, -0.5, 0.5), 0.5},
		"one side":   {clip(tones(testRate, 3, 0.01, 1, 437, 0.8), -2, 0.3), 0.3},
		"noise":      {clip(loudNoise(), -0.5, 0.5), 0.5},
	} {
		d := inspect(t, c.x)
		over := int64(0)
		for _, v := range c.x {
			if math.Abs(v) >= c.level-2.0/32768 && math.Abs(v) <= c.level {
				over++
			}
		}
		if d.ClippedFrames == 0 || len(d.Clipped) == 0 {
			t.Errorf("%s: not found", name)
			continue
		}
		within(t, name, d.ClipLevel, c.level, 0.01)
		if d.ClippedFrames > over*102/100 || name != "noise" && d.ClippedFrames < over*8/10 {
			t.Errorf("%s: %d samples of %d", name, d.ClippedFrames, over)
		}
	}
	for name, x := range map[string][]float64{
		"low tone":        tones(testRate, 3, 0, 1, 33, 0.9),
		"low quiet tone":  tones(testRate, 3, 0, 1, 60, 0.002),
		"touches the top": tones(testRate, 3, 0, 1, 1007, 1),
		"noise":           tones(testRate, 3, 0.2, 5),
		"quiet noise":     tones(testRate, 3, 0.0001, 5),
	} {
		if d := inspect(t, sixteenBits(x)); d.ClippedFrames > 0 {
			t.Errorf("%s: %d samples clipped at %.4f", name, d.ClippedFrames, d.ClipLevel)
		}
	}
}

// loudNoise is noise below 3 kHz, some 0.25 rms.
func loudNoise() []float64 {
	x := tones(testRate, 3, 1, 2)
	f, err := LowPass(testRate, 3000, 4)
	if err != nil {
		panic(err)
	}
	f.Process(x)
	for i := range x {
		x[i] *= 0.7
	}
	return x
}

// Nothing wrong is found with honest sound.
func TestInspectIsQuietOnHonestSound(t *testing.T) {
	for name, x := range honest(12) {
		d := inspect(t, x)
		if len(d.Gaps()) > 0 || d.ClippedFrames > 0 || d.MainsBeat != nil || d.AutoGain.Found {
			t.Errorf("%s: %q", name, d.Notes)
		}
	}
}

// Silence that was made, by a squelch that fades out, is no fault; zeros that
// cut the wave off are.
func TestSilenceIsNoDropout(t *testing.T) {
	x := tones(testRate, 4, 0.02, 1, 700, 0.3)
	for i := range x {
		s := float64(i) / testRate
		x[i] *= math.Max(0, math.Min(1, math.Max((1-s)/0.05, (s-1.5)/0.05)))
	}
	x = sixteenBits(x)
	d := inspect(t, x)
	if len(d.Dropouts) > 0 || len(d.Silences) != 1 {
		t.Errorf("a squelch: %d dropouts, %d silences", len(d.Dropouts), len(d.Silences))
	}
	copy(x[150000:150200], make([]float64, 200))
	if d = inspect(t, x); len(d.Dropouts) != 1 || d.Dropouts[0].Frame != 150000 || d.Dropouts[0].Frames < 200 {
		t.Errorf("dropouts %+v", d.Dropouts)
	}
	if d = inspect(t, make([]float64, 48000)); !d.Silent || len(d.Gaps()) > 0 {
		t.Errorf("silence: %+v", d)
	}
}

// Every block size from 128 to 4800 samples, repeated in noise, speech and a tone.
func TestRepeatedBlocks(t *testing.T) {
	sound := honest(4)
	sound["tone"] = sixteenBits(tones(testRate, 4, 0.0002, 1, 997, 0.4))
	for _, name := range []string{"noise", "speech", "tone", "telegraphy in noise"} {
		for _, n := range []int{128, 441, 1024, 4800} {
			x := sound[name]
			at := 110003
			y := append(append(append([]float64(nil), x[:at]...), x[at-n:at]...), x[at:]...)
			gaps := watch(y).Gaps()
			if len(gaps) != 1 || gaps[0].Why != "repeated block" || gaps[0].Frame > int64(at) || gaps[0].Frame < int64(at)-8 || gaps[0].Frames < int64(n) || gaps[0].Frames > int64(n)+8 {
				t.Errorf("%s, %d samples: %+v", name, n, gaps)
			}
		}
	}
	// A clean tone repeats by itself, at whatever block.
	for _, hz := range []float64{500, 440, 1000, 997} {
		if gaps := watch(sixteenBits(tones(testRate, 4, 0, 1, hz, 0.4))).Gaps(); len(gaps) > 0 {
			t.Errorf("a clean tone of %g Hz: %+v", hz, gaps[0])
		}
	}
}

// Lost blocks in a tone with noise down to 15 dB: found at their place.
func TestLostBlocks(t *testing.T) {
	for _, noise := range []float64{0, 0.002, 0.02, 0.06} {
		x := sixteenBits(tones(testRate, 6, noise, 7, 997, 0.4))
		var y []float64
		lost := []int{60000, 120013, 200200}
		from := 0
		for i, at := range lost {
			y = append(y, x[from:at]...)
			from = at + 441 + 37*i
		}
		y = append(y, x[from:]...)
		gaps := watch(y).Gaps()
		if len(gaps) != len(lost) {
			t.Errorf("noise %g: %d jumps, expected %d: %+v", noise, len(gaps), len(lost), gaps)
			continue
		}
		shift := 0
		for i, at := range lost {
			within(t, "place", float64(gaps[i].Frame), float64(at-shift), 300)
			shift += 441 + 37*i
		}
	}
}

// A gain that changes by itself: in steps, common to tone and noise, or slowly
// after each loud part. A tone that changes by itself is none, nor is keying.
func TestAutoGain(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	make12 := func(seconds float64, f func(s float64) (tone, gain float64)) []float64 {
		x := make([]float64, int(seconds*testRate))
		for i := range x {
			s := float64(i) / testRate
			tone, gain := f(s)
			x[i] = gain * (tone*math.Sin(2*math.Pi*997*s) + 0.003*rng.NormFloat64())
		}
		return sixteenBits(x)
	}
	steps := make12(12, func(s float64) (float64, float64) {
		if s > 5 {
			return 0.2, 0.5
		}
		return 0.2, 1
	})
	d := inspect(t, steps)
	if !d.AutoGain.Found {
		t.Errorf("a step of gain: %+v", d.AutoGain)
	}
	within(t, "step", d.AutoGain.GainDB, -6.02, 0.4)
	gain := 1.0
	pumped := make12(40, func(s float64) (float64, float64) {
		tone := 0.0
		if math.Mod(s, 10) < 3 {
			tone = 0.5
			gain += (0.25 - gain) * 20 / testRate
		} else {
			gain += (1 - gain) * 0.7 / testRate
		}
		return tone, gain
	})
	if d = inspect(t, pumped); !d.AutoGain.Found || !strings.Contains(d.AutoGain.Text, "after") {
		t.Errorf("gain that comes up after loud parts: %+v", d.AutoGain)
	}
	honestTone := make12(12, func(s float64) (float64, float64) {
		if s > 5 {
			return 0.1, 1
		}
		return 0.2, 1
	})
	if d = inspect(t, honestTone); d.AutoGain.Found {
		t.Errorf("a tone that changes by itself: %+v", d.AutoGain)
	}
	keyed := make12(40, func(s float64) (float64, float64) {
		if math.Mod(s, 10) < 3 {
			return 0.5, 1
		}
		return 0, 1
	})
	if d = inspect(t, keyed); d.AutoGain.Found {
		t.Errorf("keying: %+v", d.AutoGain)
	}
}

// Two supplies that differ by a tenth of a hertz, and ripple on a tone.
func TestMainsBeat(t *testing.T) {
	d := inspect(t, sixteenBits(tones(testRate, 60, 0.001, 1, 100, 0.02, 100.1, 0.01)))
	if d.MainsBeat == nil {
		t.Fatal("no beat of two supplies seen")
	}
	within(t, "beat", d.MainsBeat.Hz, 0.1, 0.02)
	within(t, "depth", d.MainsBeat.DepthDB, 20*math.Log10(3), 2)
	x := tones(testRate, 10, 0.001, 1, 997, 0.3)
	for i := range x {
		x[i] *= 1 + 0.05*math.Sin(2*math.Pi*100*float64(i)/testRate)
	}
	d = inspect(t, sixteenBits(x))
	if d.MainsBeat == nil {
		t.Fatal("no ripple on the tone seen")
	}
	within(t, "ripple", d.MainsBeat.Hz, 100, 1.5)
	within(t, "depth", d.MainsBeat.DepthDB, 0.869, 0.12)
	if d = inspect(t, sixteenBits(tones(testRate, 20, 0.001, 1, 997, 0.3, 50, 0.01, 100, 0.02))); d.MainsBeat != nil {
		t.Errorf("steady hum beats: %+v", d.MainsBeat)
	}
}

func TestBitsAndOffset(t *testing.T) {
	x := tones(testRate, 2, 0.001, 1, 997, 0.3)
	for i := range x {
		x[i] = math.Round((x[i]+0.02)*128) / 128
	}
	d := inspect(t, x)
	if d.BitsUsed != 8 {
		t.Errorf("%d bits, expected 8", d.BitsUsed)
	}
	within(t, "mean", d.DCOffset, 0.02, 0.0005)
	if d = inspect(t, tones(testRate, 1, 0.001, 1)); d.BitsUsed != 32 {
		t.Errorf("%d bits of samples finer than any", d.BitsUsed)
	}
	if _, err := Inspect(context.Background(), FromSlice(testRate, nil), InspectOptions{}, nil); err == nil {
		t.Error("no error for an empty recording")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Inspect(ctx, FromSlice(testRate, x), InspectOptions{}, nil); err == nil {
		t.Error("does not stop")
	}
	x[30000], x[40000] = math.NaN(), math.Inf(1)
	if d = inspect(t, x); !strings.Contains(strings.Join(d.Notes, " "), "2 samples are not finite") {
		t.Errorf("notes %q", d.Notes)
	}
}
