package wire

import (
	"math"
	"time"

	"setwright/signal"
)

// Clock compares the number of frames that came with the time that passed, and
// finds the places where time passed without samples.
//
// A block's lag is the moment it came, less the time that its frames and all
// before them took to make. Blocks come late for many reasons, and catch up;
// what was lost never catches up. So the floor of the lag is followed, and where
// it has risen and stays up, samples are missing: as many seconds as it rose. A
// rise that is made good later is taken back.
//
// Where blocks carry the path's own stamps these take the place of the
// computer's clock. They are far steadier, and a smaller loss shows.
type Clock struct {
	rate    float64
	frames  int64 // so far
	began   time.Time
	stamped bool
	first   float64 // stamp of the first frame

	floor   float64 // of the lag
	low     float64 // of the lag since the frame lowFrom, for the drift of the floor
	lowFrom int64
	risen   bool
	rise    rise
	gaps    []signal.Gap
	floors  []float64 // before each gap
	fast    bool
}

// rise is a rise of the lag that may be one for good.
type rise struct {
	frame int64
	low   float64 // of the lag since
}

const (
	// clockWaitS is how long the lag must stay up to be a loss: loaded
	// computers stop for tenths of a second, seldom for as long as this.
	clockWaitS = 2.0
	// clockLeastS is the least loss that the computer's clock can show: sound
	// servers deliver in blocks of tens of milliseconds.
	clockLeastS = 0.030
	// stampLeastS is the least that a path's stamps can show: a browser loses
	// blocks of 10 ms.
	stampLeastS = 0.004
	// clockFastS is how far the frames may be ahead of the time before they
	// cannot come from a live input.
	clockFastS = 3.0
)

// LateByClock is the reason of a gap that the clock found.
const LateByClock = "late by the clock"

// NewClock returns a clock for frames of a nominal rate.
func NewClock(rateHz float64) *Clock {
	return &Clock{rate: rateHz, floor: math.Inf(1), low: math.Inf(1)}
}

// Add takes a block of so many frames.
func (c *Clock) Add(b Block, frames int) {
	from := c.frames
	c.frames += int64(frames)
	if frames == 0 || c.fast {
		return
	}
	if from == 0 {
		c.began, c.stamped, c.first = b.At, b.Stamped && b.StampS-b.StampS == 0, b.StampS
	}
	switch {
	case c.stamped && b.Stamped: // of the first frame
		c.take(from, b.StampS-c.first-float64(from)/c.rate)
	case !c.stamped && !b.At.IsZero(): // of the last
		c.take(from, b.At.Sub(c.began).Seconds()-float64(c.frames)/c.rate)
	}
}

// take looks whether the lag has risen, for good or for a while.
func (c *Clock) take(frame int64, lag float64) {
	if lag-lag != 0 {
		return // a stamp that is no number says nothing
	}
	if lag < -clockFastS && !c.stamped {
		c.fast, c.gaps = true, nil
		return
	}
	for n := len(c.gaps); n > 0 && lag < c.floors[n-1]+c.least()/2; n-- {
		c.floor, c.gaps, c.floors, c.risen = c.floors[n-1], c.gaps[:n-1], c.floors[:n-1], false // it caught up
	}
	if lag > c.floor+c.least() {
		c.stayUp(frame, lag)
		return
	}
	c.risen = false
	c.floor, c.low = min(c.floor, lag), min(c.low, lag)
	if c.seconds(c.lowFrom, frame) >= clockWaitS { // the two clocks drift apart, slowly
		c.floor, c.low, c.lowFrom = c.low, math.Inf(1), frame
	}
}

func (c *Clock) stayUp(frame int64, lag float64) {
	if !c.risen {
		c.risen, c.rise = true, rise{frame, lag}
	}
	c.rise.low = min(c.rise.low, lag)
	if c.seconds(c.rise.frame, frame) >= clockWaitS {
		c.lost()
	}
}

// lost takes the rise for a loss.
func (c *Clock) lost() {
	c.gaps = append(c.gaps, signal.Gap{Frame: c.rise.frame, LostS: c.rise.low - c.floor, Why: LateByClock})
	c.floors = append(c.floors, c.floor)
	c.floor, c.low, c.lowFrom, c.risen = c.rise.low, math.Inf(1), c.rise.frame, false
}

func (c *Clock) seconds(from, to int64) float64 { return float64(to-from) / c.rate }

// least is the least loss that can be told.
func (c *Clock) least() float64 {
	if c.stamped {
		return stampLeastS
	}
	return clockLeastS
}

// Gaps are the places at which samples are missing by the clock, as far as can
// be told; one of the last seconds may still be taken back.
func (c *Clock) Gaps() []signal.Gap { return append([]signal.Gap(nil), c.gaps...) }

// End settles, when the capture has ended, what was still waited for: a rise
// that lasted for a quarter of the time is taken for a loss.
func (c *Clock) End() {
	if c.risen && !c.fast && c.seconds(c.rise.frame, c.frames) >= clockWaitS/4 {
		c.lost()
	}
}

// Note says what the clock could not do, if anything.
func (c *Clock) Note() string {
	if c.fast {
		return "the samples came faster than they can have been made: lost time cannot be told"
	}
	return ""
}
