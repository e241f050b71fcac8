package agc

import (
	"context"
	"fmt"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// work is one analysis on its way from raw data to figures.
type work struct {
	raw     measure.Raw
	set     agcSettings
	sources sources
	st      *static // nil where there are no readings
	budget  *budget
	knee    knee
	hasKnee bool
	out     measure.Analysis
}

// Analyse turns a run into its AGC figures. See [measure.Measurement].
func (Measurement) Analyse(ctx context.Context, raw measure.Raw, progress func(float64)) (measure.Analysis, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	set, err := read(raw)
	if err != nil {
		return measure.Analysis{}, err
	}
	w := &work{raw: raw, set: set, sources: newSources(raw, set)}
	w.out.Notes = append(w.out.Notes, raw.Notes...)
	if err := w.static(); err != nil {
		return measure.Analysis{}, err
	}
	if w.st == nil && len(raw.Recordings) == 0 {
		return measure.Analysis{}, &measure.Refusal{Row: -1, Found: "neither readings of input and output nor a recording", Expected: "one of them",
			Advice: "say which column is which, for example --column 1=input:dBm --column 2=output:dB"}
	}
	if w.st != nil {
		w.staticFigures()
	}
	progress(0.1)
	if err := w.dynamic(ctx, func(x float64) { progress(0.1 + 0.9*x) }); err != nil {
		return measure.Analysis{}, err
	}
	if len(w.out.Figures) == 0 {
		return measure.Analysis{}, w.nothing()
	}
	w.out.Sentences = w.sentences()
	w.out.Plots = append(w.staticPlots(), w.out.Plots...)
	return w.out, nil
}

// nothing refuses data that gave no figure, with the reasons found on the way.
func (w *work) nothing() error {
	why := "nothing from which a figure can be taken"
	if notes := w.out.Notes[len(w.raw.Notes):]; len(notes) > 0 {
		why += " (" + notes[0] + ")"
	}
	return &measure.Refusal{Row: -1, Found: why, Expected: "a curve of three levels and more, or a recording with steps, keying or fading"}
}

func (w *work) add(f run.Figure) {
	f.Method = Method
	w.out.Figures = append(w.out.Figures, f)
}

func (w *work) note(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	for _, n := range w.out.Notes {
		if n == text {
			return
		}
	}
	w.out.Notes = append(w.out.Notes, text)
}

func (w *work) warn(format string, args ...any) {
	w.out.Warnings = append(w.out.Warnings, fmt.Sprintf(format, args...))
}

// figure finds a figure given so far, with a condition where one is named.
func (w *work) figure(id, condition, value string) *run.Figure {
	for i := range w.out.Figures {
		f := &w.out.Figures[i]
		if f.ID == id && (condition == "" || f.Conditions[condition] == value) {
			return f
		}
	}
	return nil
}
