// Package wiretest is a sound input for tests: it plays a given sound as a live
// input would, without waiting, and fails on the way as it is told to.
package wiretest

import (
	"context"
	"errors"
	"io"
	"time"

	"setwright/internal/wire"
)

// Trouble is what goes wrong with one block.
type Trouble string

// The troubles.
const (
	Drop   Trouble = "drop"   // the block is lost on the way
	Repeat Trouble = "repeat" // the block before it comes again in its place
	Zero   Trouble = "zero"   // zeros in its place
	Late   Trouble = "late"   // it comes late, those after it in time
	Stall  Trouble = "stall"  // nothing comes any more
	Die    Trouble = "die"    // the path ends with a fault
)

// Input plays Samples, channels interleaved, in blocks of BlockFrames.
type Input struct {
	RateHz      float64
	Channels    int // 1 where zero
	Coding      wire.Coding
	Samples     []float64
	BlockFrames int             // a fiftieth of a second where zero
	Troubles    map[int]Trouble // by number of the block, from 0
	Begun       time.Time       // of the first sample
	Stamped     bool            // blocks carry stamps
	Live        bool            // blocks come when they are made, not at once
}

// Name is "fake input".
func (in Input) Name() string { return "fake input" }

// Open begins to play.
func (in Input) Open(_ context.Context, _ wire.Want) (wire.SoundCapture, error) {
	if in.Channels == 0 {
		in.Channels = 1
	}
	if in.BlockFrames == 0 {
		in.BlockFrames = int(in.RateHz / 50)
	}
	if in.Coding == (wire.Coding{}) {
		in.Coding = wire.Coding{Bits: 32, Float: true}
	}
	if in.Begun.IsZero() {
		in.Begun = time.Date(2024, 3, 20, 10, 0, 0, 0, time.UTC)
	}
	return &capture{in: in, closed: make(chan struct{}), opened: time.Now()}, nil
}

type capture struct {
	in     Input
	block  int
	last   []float64
	closed chan struct{}
	opened time.Time
}

func (c *capture) Sound() wire.Sound {
	off := false
	return wire.Sound{Path: "fake input", Device: "bench", RateHz: c.in.RateHz, Channels: c.in.Channels, Coding: c.in.Coding,
		DeviceRate: c.in.RateHz, PathRate: c.in.RateHz, Gain: &off}
}

func (c *capture) Notes() []string { return nil }

func (c *capture) Close() error {
	select {
	case <-c.closed:
		return errors.New("closed twice")
	default:
		close(c.closed)
	}
	return nil
}

// Next gives the next block, well or ill.
func (c *capture) Next(ctx context.Context) (wire.Block, error) {
	for {
		size := c.in.BlockFrames * c.in.Channels
		from := c.block * size
		if from >= len(c.in.Samples) {
			return wire.Block{}, io.EOF
		}
		samples := c.in.Samples[from:min(from+size, len(c.in.Samples))]
		trouble := c.in.Troubles[c.block]
		c.block++
		at := c.time(c.block * c.in.BlockFrames)
		switch trouble {
		case Drop:
			continue
		case Repeat:
			samples = c.last
		case Zero:
			samples = make([]float64, len(samples))
		case Late:
			at = at.Add(300 * time.Millisecond)
		case Stall:
			<-ctx.Done()
			return wire.Block{}, ctx.Err()
		case Die:
			return wire.Block{}, &wire.Fault{Kind: wire.Died, Text: "the fake input died, as it was told to"}
		}
		if err := c.wait(ctx); err != nil {
			return wire.Block{}, err
		}
		c.last = samples
		return wire.Block{Samples: append([]float64(nil), samples...), At: at, Stamped: c.in.Stamped,
			StampS: 100 + float64((c.block-1)*c.in.BlockFrames)/c.in.RateHz}, nil
	}
}

func (c *capture) time(frames int) time.Time {
	return c.in.Begun.Add(time.Duration(float64(frames) / c.in.RateHz * 1e9))
}

// wait waits until the block is made, where the input is live.
func (c *capture) wait(ctx context.Context) error {
	if !c.in.Live {
		return ctx.Err()
	}
	due := c.opened.Add(time.Duration(float64(c.block*c.in.BlockFrames) / c.in.RateHz * 1e9))
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(time.Until(due)):
		return nil
	}
}
