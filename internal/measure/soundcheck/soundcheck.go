// Package soundcheck looks at a recording before figures are taken from it: at
// faults that nobody marked, at the sound input driven too far, at silence.
package soundcheck

import (
	"context"
	"fmt"
	"slices"

	"setwright/internal/measure"
	"setwright/signal"
)

// Checked is what was seen in a recording.
type Checked struct {
	// Gaps are those that the capture knows and zeros and repeated blocks that
	// were found: what is measured must not lie across one.
	Gaps []signal.Gap
	// Full are the places where the sound input was at full scale; FlatLevel is
	// the level of flat tops below it, 0 for none: a set that clips makes such
	// too, so they are no fault by themselves.
	Full      []signal.Event
	FlatLevel float64
	AutoGain  string   // what was seen of a gain that changes by itself, "" for nothing
	Notes     []string // for the reader
}

// fullScale is the part of full scale from which flat tops are those of the
// sound input.
const fullScale = 0.97

// Look reads a recording once. It refuses one that is silent, and one that was
// made with the automatic gain of the sound input known to be on.
func Look(ctx context.Context, rec measure.Recording, progress func(float64)) (Checked, error) {
	if c := rec.Capture; c != nil && c.Gain != nil && *c.Gain {
		return Checked{}, fmt.Errorf("the sound input's automatic gain was on: it moves the level by itself; switch it off and record again")
	}
	src, err := rec.Open(ctx)
	if err != nil {
		return Checked{}, err
	}
	defer src.Close()
	d, err := signal.Inspect(ctx, src, signal.InspectOptions{Frames: rec.Frames}, progress)
	switch {
	case err != nil:
		return Checked{}, err
	case d.Silent:
		return Checked{}, fmt.Errorf("it is silent: is the right channel recorded, and the cable in?")
	}
	out := Checked{Gaps: joined(rec.Gaps(), d.Dropouts, d.Repeats)}
	if d.AutoGain != nil && d.AutoGain.Found {
		out.AutoGain = d.AutoGain.Text
	}
	switch {
	case d.ClippedFrames > 0 && d.ClipLevel >= fullScale:
		out.Full = d.Clipped
	case d.ClippedFrames > 0:
		out.FlatLevel = d.ClipLevel
		out.Notes = append(out.Notes, fmt.Sprintf("%s: flat tops at %.0f %% of full scale: either the set clips, which its distortion then holds, or the stage before the sound input does; turn that down and see whether they stay", rec.Name, 100*d.ClipLevel))
	}
	if n := len(out.Gaps); n > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("%s has %s: only whole stretches are used", rec.Name, count(n)))
	}
	return out, nil
}

// joined are the gaps that are known and those found beside them. What was found
// when the recording came is found again: it is one gap.
func joined(known []signal.Gap, found ...[]signal.Gap) []signal.Gap {
	out := slices.Clone(known)
	for _, g := range slices.Concat(found...) {
		same := func(k signal.Gap) bool { return k.Frame <= g.Frame && g.Frame+g.Frames <= k.Frame+k.Frames }
		if !slices.ContainsFunc(known, same) {
			out = append(out, g)
		}
	}
	return out
}

func count(n int) string {
	if n == 1 {
		return "a gap"
	}
	return fmt.Sprintf("%d gaps", n)
}

// Touched says whether a gap lies within two frames of a recording.
func (c Checked) Touched(from, to int64) bool {
	for _, g := range c.Gaps {
		if g.Frame+g.Frames >= from && g.Frame <= to {
			return true
		}
	}
	return false
}

// Overdriven says whether the sound input was at full scale between two frames.
func (c Checked) Overdriven(from, to int64) bool {
	for _, e := range c.Full {
		if e.Frame+e.Frames >= from && e.Frame <= to {
			return true
		}
	}
	return false
}
