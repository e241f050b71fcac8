package agc

import (
	"context"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/soundcheck"
	"setwright/signal"
)

// longestS is how much of one recording of the gain control's movements is
// followed; a quarter of an hour holds far more than the steps anybody makes.
const longestS = 900

// dynamic adds the figures of the recordings.
func (w *work) dynamic(ctx context.Context, progress func(float64)) error {
	var steps []followed
	var up keyUps
	slow := map[float64][]faded{}
	done := 0.0
	for i, rec := range w.raw.Recordings {
		share := 1 / float64(len(w.raw.Recordings))
		f, err := w.follow(ctx, i, rec, func(x float64) { progress(done + x*share) })
		if ctx.Err() != nil {
			return ctx.Err()
		}
		done += share
		if err != nil {
			w.note("%s is not used: %v", name(rec), err)
			continue
		}
		switch rec.Role {
		case roleStep:
			steps = append(steps, f)
		case roleKeyed:
			w.keyUps(f, &up)
		case roleFading:
			w.swings(f, slow)
		}
	}
	w.stepped(steps)
	w.keyed(up)
	w.fading(slow)
	return nil
}

// followed is the envelope of one recording.
type followed struct {
	index int // in Raw.Recordings
	rec   measure.Recording
	env   *signal.LevelTrack
	seen  soundcheck.Checked
	scale measure.SoundScale
}

// windows of the envelope: short for what jumps, longer for what is slow.
const (
	windowS, stepS         = 0.01, 0.0025
	slowWindowS, slowStepS = 0.02, 0.01
)

// follow makes the envelope of a recording.
func (w *work) follow(ctx context.Context, index int, rec measure.Recording, progress func(float64)) (followed, error) {
	o := signal.EnvelopeOptions{WindowS: windowS, StepS: stepS, Band: w.set.band, Frames: rec.Frames}
	switch rec.Role {
	case roleStep, roleKeyed:
	case roleFading:
		o.WindowS, o.StepS = slowWindowS, slowStepS
	default:
		return followed{}, fmt.Errorf("found the role %q, expected %s, %s or %s", rec.Role, roleStep, roleKeyed, roleFading)
	}
	seen, err := soundcheck.Look(ctx, rec, func(x float64) { progress(x / 2) })
	if err != nil {
		return followed{}, err
	}
	o.Gaps = seen.Gaps
	w.out.Notes = append(w.out.Notes, seen.Notes...)
	src, err := rec.Open(ctx)
	if err != nil {
		return followed{}, err
	}
	defer src.Close()
	var part signal.Source = src
	if most := int64(longestS * src.Rate()); rec.Frames > most {
		w.note("of %s the first quarter of an hour is used", name(rec))
		if part, err = signal.Section(src, 0, most); err != nil {
			return followed{}, err
		}
		o.Frames = most
	}
	env, err := signal.Envelope(ctx, part, o, func(x float64) { progress((1 + x) / 2) })
	if err != nil {
		return followed{}, err
	}
	env.U = nil // not needed, and the envelopes are all kept
	scale := w.raw.SoundScale(rec.Started)
	for _, text := range scale.Warnings() {
		w.warn("%s", text)
	}
	return followed{index, rec, env, seen, scale}, nil
}

// frame is the frame at a time of the recording.
func (f followed) frame(s float64) int64 { return int64(s * f.rec.RateHz) }

// touched says whether a gap lies between two times of a recording.
func (f followed) touched(fromS, toS float64) bool {
	return f.seen.Touched(f.frame(fromS), f.frame(toS))
}

// nextGap is the time of the first gap after t, infinite for none.
func (f followed) nextGap(t float64) float64 {
	next := math.Inf(1)
	for _, g := range f.seen.Gaps {
		if a := float64(g.Frame) / f.rec.RateHz; a > t {
			next = math.Min(next, a)
		}
	}
	return next
}

func name(rec measure.Recording) string {
	if rec.Name != "" {
		return rec.Name
	}
	return "a recording of the " + rec.Role + " kind"
}
