package audio

import (
	"context"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/soundcheck"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// work is one analysis on its way from raw data to figures.
type work struct {
	raw     measure.Raw
	set     audioSettings
	sources sources
	tones   []heard
	hums    []hummed
	out     measure.Analysis
}

// Analyse turns a run into its audio figures. See [measure.Measurement].
func (Measurement) Analyse(ctx context.Context, raw measure.Raw, progress func(float64)) (measure.Analysis, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	set, err := read(raw)
	if err != nil {
		return measure.Analysis{}, err
	}
	w := &work{raw: raw, set: set, sources: newSources(raw)}
	w.out.Notes = append(w.out.Notes, raw.Notes...)
	if raw.Series.Column("output") == nil && len(raw.Recordings) == 0 {
		return measure.Analysis{}, &measure.Refusal{Row: -1, Found: "neither readings of the output nor a recording", Expected: "one of them",
			Advice: "say which column is which, for example --column 1=frequency:Hz --column 2=output:V"}
	}
	if err := w.readings(); err != nil {
		return measure.Analysis{}, err
	}
	if err := w.recordings(ctx, progress); err != nil {
		return measure.Analysis{}, err
	}
	w.toneFigures()
	w.humFigures()
	w.powerFigure()
	if len(w.out.Figures) == 0 {
		return measure.Analysis{}, w.nothing()
	}
	w.out.Sentences = w.sentences()
	return w.out, nil
}

// nothing refuses data that gave no figure, with the first reason found.
func (w *work) nothing() error {
	why := "nothing from which a figure can be taken"
	if notes := w.out.Notes[len(w.raw.Notes):]; len(notes) > 0 {
		why += " (" + notes[0] + ")"
	}
	return &measure.Refusal{Row: -1, Found: why, Expected: "readings of output against frequency or distortion, or recordings of a tone, of the bare carrier or of a programme"}
}

// recordings works through all recordings.
func (w *work) recordings(ctx context.Context, progress func(float64)) error {
	var swept []point
	for i, rec := range w.raw.Recordings {
		part := func(x float64) { progress((float64(i) + x) / float64(len(w.raw.Recordings))) }
		var err error
		switch rec.Role {
		case roleTone:
			err = w.hearTone(ctx, i, rec, part)
		case roleHum:
			err = w.hearHum(ctx, i, rec, part)
		case roleSweep:
			var p []point
			p, err = w.hearSweep(ctx, i, rec, part)
			swept = append(swept, p...)
		case roleSet:
			err = w.programme(ctx, i, rec, part)
		case roleReference:
		default:
			err = fmt.Errorf("found the role %q, expected %s, %s, %s, %s or %s", rec.Role, roleTone, roleSweep, roleHum, roleSet, roleReference)
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			w.note("%s is not used: %v", name(rec), err)
		}
	}
	if len(w.raw.OfRole(roleReference)) > 0 && len(w.raw.OfRole(roleSet)) == 0 {
		w.note("the programme itself says nothing without a recording of the set's output")
	}
	if len(swept) > 0 {
		w.responseFigures(swept, "tones", "Response by a moving tone")
	}
	return nil
}

// look looks at a recording and says what is known against it; one in which the
// sound input was driven to full scale is refused.
func (w *work) look(ctx context.Context, rec measure.Recording, progress func(float64)) (soundcheck.Checked, error) {
	for _, text := range w.raw.SoundScale(rec.Started).Warnings() {
		w.warn("%s", text)
	}
	seen, err := soundcheck.Look(ctx, rec, progress)
	if err != nil {
		return seen, err
	}
	if n := len(seen.Full); n > 0 {
		return seen, fmt.Errorf("the sound input was driven to full scale %s: that is its distortion, not the set's; turn it down and record again", times(n))
	}
	for _, n := range seen.Notes {
		w.note("%s", n)
	}
	return seen, nil
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func (w *work) add(f run.Figure) {
	f.Method = Method
	w.out.Figures = append(w.out.Figures, f)
}

func (w *work) note(format string, args ...any) {
	w.out.Notes = addOnce(w.out.Notes, fmt.Sprintf(format, args...))
}

func (w *work) warn(format string, args ...any) {
	w.out.Warnings = addOnce(w.out.Warnings, fmt.Sprintf(format, args...))
}

func addOnce(list []string, text string) []string {
	for _, t := range list {
		if t == text {
			return list
		}
	}
	return append(list, text)
}

// stretch says that figures come from a whole recording.
func (w *work) stretch(index int, rec measure.Recording, seen soundcheck.Checked, label string, figures ...string) {
	for _, s := range signal.Stretches(rec.Frames, seen.Gaps) {
		w.out.Stretches = append(w.out.Stretches, measure.Stretch{Recording: index, FromS: float64(s.From) / rec.RateHz, ToS: float64(s.To) / rec.RateHz, Label: label, Figures: figures})
	}
}

// responseFigures adds the edges of a response and its picture.
func (w *work) responseFigures(points []point, method, title string) {
	r, ok := newResponse(points, w.set.refHz)
	if !ok {
		w.note("the response is not given: found %s, expected some on both sides of %s; is the unit right?", rangeOf(r.points), hertz(w.set.refHz))
		return
	}
	r.coherent = method == "programme"
	for _, low := range []bool{true, false} {
		w.edgeFigure(r, low, method)
	}
	w.responsePlot(r, method, title)
}

// rangeOf says what frequencies there are.
func rangeOf(p []point) string {
	switch n := len(p); n {
	case 0:
		return "no frequency"
	case 1:
		return "one frequency, " + hertz(p[0].hz)
	default:
		return fmt.Sprintf("%d frequencies from %s to %s", n, hertz(p[0].hz), hertz(p[n-1].hz))
	}
}

// edgeFigure adds one edge; beyond the points it is a bound.
func (w *work) edgeFigure(r response, low bool, method string) {
	id := "audio_high"
	if low {
		id = "audio_low"
	}
	e := r.edge(low, w.set.edgeDB)
	if e.beyond && math.Abs(e.hz-r.refHz) < 0.01*r.refHz {
		w.note("%s is not given: no frequency beyond %s", titleOf(id), hertz(r.refHz))
		return
	}
	f := run.Figure{ID: id, Unit: "Hz", Conditions: map[string]string{"method": method},
		Details: []run.Detail{run.Number("reference", "Hz", r.refHz), run.Number("down", "dB", w.set.edgeDB), run.Number("points", "count", float64(len(r.points)))}}
	switch {
	case e.beyond && low:
		f.Outcome = quantity.Below(quantity.Exact(e.hz))
	case e.beyond:
		f.Outcome = quantity.Above(quantity.Exact(e.hz))
	default:
		f.Outcome = quantity.Known(w.sources.frequency(w.raw, e))
	}
	if e.beyond {
		f.Details = append(f.Details, run.Text("why", fmt.Sprintf("at the end of the points, %s, it is down by %s dB only", hertz(e.hz), short(e.downDB))))
	}
	w.add(f)
}
