package signal

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// sixteenBits rounds samples as a converter of 16 bits does.
func sixteenBits(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Max(-1, math.Min(32767.0/32768, math.Round(v*32768)/32768))
	}
	return out
}

func watch(x []float64) *Watcher {
	w := NewWatcher(testRate)
	for len(x) > 0 {
		n := min(len(x), 441)
		w.Add(x[:n])
		x = x[n:]
	}
	return w
}

// A tone of 997 Hz into which a path put zeros, a block twice, and lost 10 ms:
// each is named at its place.
func TestWatcherFindsFaults(t *testing.T) {
	x := sixteenBits(tones(testRate, 4, 0.001, 3, 997, 0.5))
	for i := 48001; i < 48001+480; i++ {
		x[i] = 0
	}
	var y []float64
	y = append(y, x[:96000]...)
	y = append(y, x[96000-441:96000]...) // once more
	y = append(y, x[96000:144000]...)
	y = append(y, x[144480:]...) // 10 ms lost
	gaps := watch(y).Gaps()
	t.Logf("%+v", gaps)
	if len(gaps) != 3 {
		t.Fatalf("%d faults, expected 3: %+v", len(gaps), gaps)
	}
	for i, want := range []Gap{{Frame: 48001, Frames: 480, Why: "zeros"}, {Frame: 96000, Frames: 441, Why: "repeated block"}, {Frame: 144441, Why: "phase jump"}} {
		g := gaps[i]
		if g.Why != want.Why {
			t.Errorf("fault %d is %q, expected %q", i, g.Why, want.Why)
		}
		if g.Why == "phase jump" {
			within(t, "place of the jump", float64(g.Frame), float64(want.Frame), 200)
		} else if g.Frame != want.Frame || g.Frames != want.Frames {
			t.Errorf("fault %d at %d, %d long, expected %d, %d", i, g.Frame, g.Frames, want.Frame, want.Frames)
		}
	}
}

func TestWatcherIsQuietOnHonestSound(t *testing.T) {
	for name, x := range honest(10) {
		if gaps := watch(x).Gaps(); len(gaps) > 0 {
			t.Errorf("%s: %d faults, the first %+v", name, len(gaps), gaps[0])
		}
	}
}

// honest is sound without a fault: noise, a narrow band of it, something like
// speech, keyed telegraphy with and without noise, a fading carrier, shift keying.
func honest(seconds float64) map[string][]float64 {
	rng := rand.New(rand.NewPCG(9, 1))
	n := int(seconds * testRate)
	make16 := func(f func(t float64) float64) []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = f(float64(i) / testRate)
		}
		return sixteenBits(x)
	}
	dot := func(t float64) float64 { // dots of 60 ms with edges of 5 ms
		s := math.Mod(t, 0.12)
		return math.Max(0, math.Min(1, math.Min(s, 0.06-s)/0.005))
	}
	f1, f2 := 0.0, 0.0
	var r1, r2 float64
	return map[string][]float64{
		"noise":       make16(func(float64) float64 { return 0.1 * rng.NormFloat64() }),
		"quiet noise": make16(func(float64) float64 { return 2.0 / 32768 * rng.NormFloat64() }),
		"narrow noise": make16(func(float64) float64 { // 25 Hz wide at 800 Hz
			in := 0.01 * rng.NormFloat64()
			c, a := math.Cos(2*math.Pi*800/testRate), 1-math.Pi*25/testRate
			r1, r2 = 2*a*c*r1-a*a*r2+in, r1
			return 0.1 * r1
		}),
		"speech": make16(func(t float64) float64 {
			pitch := 120 + 30*math.Sin(2*math.Pi*2.3*t) + 10*math.Sin(2*math.Pi*5*t)
			f1 += 2 * math.Pi * pitch / testRate
			s := 0.0
			for h := 1; h < 20; h++ {
				s += math.Sin(float64(h)*f1) / (1 + math.Pow((float64(h)*pitch-500-300*math.Sin(3*t))/150, 2))
			}
			return 0.2*s*math.Max(0, math.Sin(2*math.Pi*1.7*t)) + 1e-4*rng.NormFloat64()
		}),
		"telegraphy in noise": make16(func(t float64) float64 {
			return 0.3*dot(t)*math.Sin(2*math.Pi*700*t) + 0.003*rng.NormFloat64()
		}),
		"telegraphy, clean": make16(func(t float64) float64 { return 0.3 * dot(t) * math.Sin(2*math.Pi*700*t) }),
		"fading carrier": make16(func(t float64) float64 {
			re := 0.4 + 0.3*math.Sin(2*math.Pi*0.31*t) + 0.2*math.Sin(2*math.Pi*0.73*t+1)
			im := 0.3*math.Cos(2*math.Pi*0.43*t) + 0.2*math.Sin(2*math.Pi*0.9*t)
			return 0.5*(re*math.Cos(2*math.Pi*1000*t)+im*math.Sin(2*math.Pi*1000*t)) + 0.003*rng.NormFloat64()
		}),
		"shift keying": make16(func(t float64) float64 {
			f := 1275.0
			if math.Sin(2*math.Pi*22*t)+0.5*math.Sin(2*math.Pi*9.7*t) > 0 {
				f = 1445
			}
			f2 += 2 * math.Pi * f / testRate
			return 0.3*math.Sin(f2) + 0.001*rng.NormFloat64()
		}),
	}
}

func TestInspectWords(t *testing.T) {
	x := tones(testRate, 12, 0.001, 3, 997, 0.5, 50, 0.01)
	for i, v := range x {
		x[i] = math.Max(-0.3, math.Min(0.3, v)) + 0.01
	}
	d, err := Inspect(context.Background(), FromSlice(testRate, sixteenBits(x)), InspectOptions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Log(d.Notes, d.ClippedFrames, d.ClipLevel, d.BitsUsed, d.DCOffset, len(d.Clipped))
}
