package workshop

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"setwright/internal/run"
	"setwright/internal/wire"
	"setwright/signal"
)

// notedEveryS is how often the integrity record is kept beside a recording.
const notedEveryS = 0.5

// Feed takes the next block: whole frames, channels interleaved, full scale ±1.
// It is in the file when Feed returns. After an error nothing more is taken;
// what came before is kept, and Cut stores it.
func (l *Listening) Feed(b LiveBlock) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case l.over:
		return errors.New("this recording has ended")
	case l.fault != nil:
		return l.fault
	case len(b.Samples)%l.sound.Channels != 0:
		return fmt.Errorf("%d samples are no whole frames of %d channels", len(b.Samples), l.sound.Channels)
	}
	if b.At.IsZero() {
		b.At = l.shop.Clock()
	}
	b.Samples = l.meters.finite(b.Samples)
	if err := l.sink.Append(b.Samples); err != nil {
		l.fault = err
		return err
	}
	l.meters.add(b)
	if l.meters.seconds(l.meters.frames-l.noted) >= notedEveryS {
		l.noted = l.meters.frames
		if err := l.sink.Note(l.captureNow()); err != nil {
			l.fault = err
			return err
		}
	}
	return nil
}

// Tell keeps what a path says of itself meanwhile; what was told before stays.
func (l *Listening) Tell(notes ...string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, n := range notes {
		if n != "" && !slices.Contains(l.notes, n) {
			l.notes = append(l.notes, n)
		}
	}
}

// Mark marks the moment.
func (l *Listening) Mark(text string) (run.Mark, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	m := run.Mark{Frame: l.meters.frames, Text: text}
	if l.over {
		return m, errors.New("this recording has ended")
	}
	l.marks = append(l.marks, m)
	return m, l.sink.Mark(m)
}

// Follow feeds what a capture delivers, until the context ends or so much time
// has been recorded (0: without end), which are no errors. The end of the
// stream is io.EOF; what ended it ill is a [wire.Fault] or an error of the
// book.
func (l *Listening) Follow(ctx context.Context, c wire.SoundCapture, length time.Duration) error {
	for {
		if length > 0 && l.Elapsed() >= length {
			return nil
		}
		b, err := c.Next(ctx)
		l.Tell(c.Notes()...)
		if len(b.Samples) > 0 { // also where the end comes with it: it came before
			if err := l.Feed(l.upTo(b, length)); err != nil {
				return err
			}
		}
		if ctx.Err() != nil {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// upTo cuts a block to what is left of a length.
func (l *Listening) upTo(b LiveBlock, length time.Duration) LiveBlock {
	if length <= 0 {
		return b
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	left := int64(math.Round(length.Seconds()*l.sound.RateHz)) - l.meters.frames
	if frames := int64(len(b.Samples) / l.sound.Channels); frames > left {
		late := float64(frames-left) / l.sound.RateHz
		b.Samples = b.Samples[:max(0, left)*int64(l.sound.Channels)]
		b.At = b.At.Add(-time.Duration(late * float64(time.Second)))
	}
	return b
}

// Elapsed is how long the recording is, by its frames.
func (l *Listening) Elapsed() time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	return time.Duration(l.meters.seconds(l.meters.frames) * float64(time.Second))
}

// Ended says in words why Follow ended where that was not as meant, and whether
// it was a fault; asked is the length that was asked for.
func Ended(err error, elapsed, asked time.Duration) (why string, cut bool) {
	switch {
	case err == nil:
		return "", false
	case errors.Is(err, io.EOF) && asked > 0 && elapsed < asked:
		return fmt.Sprintf("the stream ended after %.1f s of the %.1f s asked for", elapsed.Seconds(), asked.Seconds()), true
	case errors.Is(err, io.EOF):
		return "the stream ended", false
	}
	return err.Error(), true
}

// capture is the integrity record so far.
func (l *Listening) capture() run.Capture {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.captureNow()
}

func (l *Listening) captureNow() run.Capture {
	c := l.sound.Capture()
	c.Gaps = l.meters.gaps()
	c.Notes = slices.Concat(l.notes, l.meters.notes())
	return c
}

// phaseJump is why package signal names a place where a strong line jumps.
const phaseJump = "phase jump"

// mergeGaps joins what the watcher, the clock and the path found. A phase jump
// close to a loss of time is where that loss was.
func mergeGaps(watched, clock, told []signal.Gap, near int64) []signal.Gap {
	out := slices.Clone(watched)
	for _, g := range slices.Concat(told, clock) {
		best := -1
		for i, o := range out {
			d := max(o.Frame-g.Frame, g.Frame-o.Frame)
			if o.LostS == 0 && o.Why == phaseJump && d <= near && (best < 0 || d < max(out[best].Frame-g.Frame, g.Frame-out[best].Frame)) {
				best = i
			}
		}
		if best >= 0 {
			out[best].LostS, out[best].Why = g.LostS, g.Why
			continue
		}
		out = append(out, g)
	}
	slices.SortStableFunc(out, func(a, b signal.Gap) int { return cmp.Compare(a.Frame, b.Frame) })
	return out
}
