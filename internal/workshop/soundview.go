package workshop

import (
	"bytes"
	"context"
	"encoding/gob"
	"errors"
	"fmt"
	"math"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/signal"
)

// SoundView is a recording of a run to be looked at.
type SoundView struct {
	Run                             run.Run
	State                           receiver.State
	Set                             receiver.Set
	About                           measure.About
	N                               int // number of the recording in its run, from 0
	Recording                       run.Recording
	Warnings                        []string
	Overview, Spectrum, Spectrogram measure.Plot
	Stretches                       []measure.Stretch // that figures came from
}

// look names how pictures of recordings are made; it changes with them, so that
// those in the cache are made anew.
const look = "look/1"

// The grid of the pictures of a recording.
const (
	lookColumns = 800
	lookRows    = 128
	lookLeast   = 16 // samples, the shortest of which there is a spectrum
)

// LookAtSound returns the n-th recording of a run, from 0, as pictures: its
// course, spectrum and spectrogram. They are made once and kept. progress may be
// nil.
func (s *Shop) LookAtSound(ctx context.Context, runID string, n int, progress func(float64)) (SoundView, error) {
	v := SoundView{N: n}
	if _, err := s.RecordingOf(ctx, runID, n); err != nil {
		return v, err
	}
	res, err := s.Result(ctx, runID, nil, nil)
	var refusal *measure.Refusal
	if err != nil && !errors.As(err, &refusal) {
		return v, err
	}
	v.Run, v.State, v.Set, v.About = res.Run, res.State, res.Set, res.About
	v.Recording = run.ApplyLabels(res.Run.Recordings, res.Amendments)[n]
	v.Warnings = RecordingWarnings(v.Recording)
	if v.Recording.Frames < lookLeast {
		return v, &intake.Problem{File: v.Recording.Name, Found: fmt.Sprintf("%s of sound", printer.Told(float64(v.Recording.Frames)/v.Recording.RateHz, "s", 3)),
			Expected: fmt.Sprintf("%d samples at least", lookLeast), Advice: "there is nothing to look at"}
	}
	pictures, err := s.lookCached(ctx, runID, v.Recording, progress)
	if err != nil {
		return v, err
	}
	v.Overview, v.Spectrum, v.Spectrogram = pictures[0], pictures[1], pictures[2]
	for _, x := range res.Analysis.Stretches {
		if inRun(res, x.Recording) == n {
			v.Stretches = append(v.Stretches, x)
		}
	}
	v.mark()
	return v, nil
}

// inRun turns the number of a recording among those analysed into that in the
// run, or −1.
func inRun(res Result, analysed int) int {
	k := -1
	for i := range res.Run.Recordings {
		if !LeftOut(res, i) {
			k++
		}
		if k == analysed {
			return i
		}
	}
	return -1
}

// mark shows in the pictures over time what figures came from, and the gaps.
func (v *SoundView) mark() {
	for _, p := range []*measure.Plot{&v.Overview, &v.Spectrogram} {
		for _, x := range v.Stretches {
			p.Spans = append(p.Spans, measure.Span{Axis: "x", From: x.FromS, To: x.ToS, Label: x.Label, Side: measure.SideA})
		}
	}
	if c := v.Recording.Capture; c != nil {
		for _, g := range c.Gaps {
			at := float64(g.Frame) / v.Recording.RateHz
			v.Overview.Spans = append(v.Overview.Spans, measure.Span{Axis: "x", From: at, To: at + float64(g.Frames)/v.Recording.RateHz, Side: measure.SideB})
		}
	}
	for _, m := range v.Recording.Marks {
		v.Overview.Marks = append(v.Overview.Marks, measure.Mark{X: float64(m.Frame) / v.Recording.RateHz, Label: m.Text})
	}
}

// lookCached returns the pictures of a recording, from the cache where they are
// there.
func (s *Shop) lookCached(ctx context.Context, runID string, rec run.Recording, progress func(float64)) ([]measure.Plot, error) {
	key := fmt.Sprintf("%s/%s/%d", look, rec.SHA256, rec.Channel)
	if doc, ok, err := s.Book.Figures(ctx, key); err == nil && ok {
		var out []measure.Plot
		if gob.NewDecoder(bytes.NewReader(doc)).Decode(&out) == nil && len(out) == 3 {
			return out, nil
		}
	}
	defer spareMemory()()
	out, err := s.lookAt(ctx, rec, progress)
	if err != nil {
		return nil, err
	}
	if doc, err := toGob(out); err == nil && s.Book != nil {
		_ = s.Book.PutFigures(ctx, key, runID, look, doc) // a cache
	}
	return out, nil
}

// lookAt makes the pictures of a recording.
func (s *Shop) lookAt(ctx context.Context, rec run.Recording, progress func(float64)) ([]measure.Plot, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	sound := seen(rec, s.stored(rec))
	var overview *signal.Overview
	var spectrum *signal.Spectrum
	var gram *signal.Spectrogram
	parts := []func(src signal.Source, progress func(float64)) error{
		func(src signal.Source, progress func(float64)) (err error) {
			overview, err = signal.MakeOverview(ctx, src, lookColumns, rec.Frames, progress)
			return err
		},
		func(src signal.Source, progress func(float64)) (err error) {
			spectrum, err = signal.Welch(ctx, src, signal.SpectrumOptions{Segment: lookSegment(rec), Gaps: sound.Gaps(), Frames: rec.Frames}, progress)
			return err
		},
		func(src signal.Source, progress func(float64)) (err error) {
			gram, err = signal.Spectrogramme(ctx, src, signal.SpectrogramOptions{Columns: lookColumns, Rows: lookRows, Frames: rec.Frames, ToHz: lookTop(rec)}, progress)
			return err
		},
	}
	for i, part := range parts {
		src, err := sound.Open(ctx)
		if err != nil {
			return nil, err
		}
		err = part(src, func(x float64) { progress((float64(i) + x) / float64(len(parts))) })
		src.Close()
		if err != nil {
			return nil, err
		}
	}
	return []measure.Plot{overviewPlot(overview), spectrumPlot(spectrum, rec), spectrogramPlot(gram)}, nil
}

// lookSegment is the length of a spectrum's segments: about a fifth of a second
// for a line every 5 Hz or so, less where the recording is short.
func lookSegment(rec run.Recording) int {
	n := 1
	for float64(2*n) <= rec.RateHz/3 && int64(8*n) < rec.Frames {
		n *= 2
	}
	return max(n, lookLeast)
}

// lookTop is the highest frequency of a picture: what a receiver's output can
// hold, or what the recording can.
func lookTop(rec run.Recording) float64 { return math.Min(8000, rec.RateHz/2) }
