package wire

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// arrivals simulates how blocks of 50 ms come from a live input: late by
// something each time, and now and then by a lot.
type arrivals struct {
	rate      float64
	clockPPM  float64 // by which the input runs fast
	lose      map[int]int
	hang      map[int]float64 // seconds for which the computer hangs before a block
	stamped   bool
	blocks    int
	raggedS   float64
	framesPer int
}

func (a arrivals) through(t *testing.T, seed uint64) *Clock {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 1))
	c := NewClock(a.rate)
	start := time.Date(2024, 3, 20, 10, 0, 0, 0, time.UTC)
	made, last := 0, 0.0
	for i := range a.blocks {
		made += a.lose[i]
		first := float64(made) / (a.rate * (1 + 1e-6*a.clockPPM))
		made += a.framesPer
		at := float64(made)/(a.rate*(1+1e-6*a.clockPPM)) + a.raggedS*r.ExpFloat64()
		at = max(at, last) + a.hang[i] // what waited comes right after it
		last = at
		b := Block{At: start.Add(time.Duration(at * 1e9))}
		if a.stamped {
			b.Stamped, b.StampS = true, 50+first
		}
		c.Add(b, a.framesPer)
	}
	c.End()
	return c
}

// TestClockFindsWhatIsLost: lost blocks are found where they were lost, to the
// block, and as long as they were; hanging and drift are not taken for a loss.
func TestClockFindsWhatIsLost(t *testing.T) {
	live := arrivals{rate: 48000, blocks: 1200, raggedS: 0.004, framesPer: 2400, clockPPM: 90}
	for seed := range uint64(20) {
		lossy := live
		lossy.lose = map[int]int{400: 4800, 800: 48000}
		got := lossy.through(t, seed).Gaps()
		if len(got) != 2 {
			t.Fatalf("seed %d: %+v", seed, got)
		}
		for i, want := range []struct {
			frame int64
			lostS float64
		}{{400 * 2400, 0.1}, {800 * 2400, 1}} {
			if d := got[i].Frame - want.frame; d < -2400 || d > 2400 || math.Abs(got[i].LostS-want.lostS) > 0.01 || got[i].Why != LateByClock {
				t.Errorf("seed %d: %+v, expected %+v", seed, got[i], want)
			}
		}
		hanging := live
		hanging.clockPPM, hanging.hang = -90, map[int]float64{300: 0.8, 301: 0.7, 900: 1.5}
		if got := hanging.through(t, seed).Gaps(); len(got) != 0 {
			t.Errorf("seed %d: nothing was lost, found %+v", seed, got)
		}
		stamped := live
		stamped.stamped, stamped.lose = true, map[int]int{700: 480}
		got = stamped.through(t, seed).Gaps()
		if len(got) != 1 || got[0].Frame != 700*2400 || math.Abs(got[0].LostS-0.01) > 0.0005 {
			t.Errorf("seed %d: by stamps %+v", seed, got)
		}
	}
}

// TestClockTakesBack: a computer that hangs for long and then gets all that
// waited was late, and nothing was lost.
func TestClockTakesBack(t *testing.T) {
	c := NewClock(48000)
	start := time.Now()
	at := func(block int, lag float64) {
		c.Add(Block{At: start.Add(time.Duration((float64(block+1)*0.05 + lag) * 1e9))}, 2400)
	}
	for i := range 100 {
		at(i, 0)
	}
	for i := 100; i < 160; i++ {
		at(i, 0.5)
	}
	if got := c.Gaps(); len(got) != 1 || math.Abs(got[0].LostS-0.5) > 1e-6 {
		t.Fatalf("while it is late: %+v", got)
	}
	for i := 160; i < 170; i++ {
		at(i, 0.001)
	}
	if got := c.Gaps(); len(got) != 0 {
		t.Errorf("after it caught up: %+v", got)
	}
}

// TestClockWithBadStamps: stamps that are no numbers are passed over.
func TestClockWithBadStamps(t *testing.T) {
	c := NewClock(48000)
	for i := range 400 {
		stamp := float64(i) * 0.05
		if i >= 200 {
			stamp += 0.1
		}
		if i%7 == 3 {
			stamp = math.NaN()
		}
		c.Add(Block{Stamped: true, StampS: stamp}, 2400)
	}
	if got := c.Gaps(); len(got) != 1 || got[0].Frame != 201*2400 && got[0].Frame != 200*2400 || math.Abs(got[0].LostS-0.1) > 1e-9 {
		t.Errorf("%+v", got)
	}
}

// TestClockOfAFile: samples that come faster than they can be made are no
// measure of time.
func TestClockOfAFile(t *testing.T) {
	c := NewClock(48000)
	start := time.Now()
	for i := range 400 {
		c.Add(Block{At: start.Add(time.Duration(i) * time.Millisecond)}, 2400)
	}
	if len(c.Gaps()) > 0 || c.Note() == "" {
		t.Errorf("%+v, %q", c.Gaps(), c.Note())
	}
}
