package selectivity

import (
	"context"
	"errors"
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/selectivity/passband"
	"setwright/internal/run"
	"setwright/quantity"
)

// work is one analysis on its way from raw data to figures.
type work struct {
	raw     measure.Raw
	set     setting
	c       *curve
	fit     *passband.Curve
	r       passband.Result
	sources sources
	out     measure.Analysis
}

// Analyse turns a run into the figures of its passband. See
// [measure.Measurement].
func (Measurement) Analyse(ctx context.Context, raw measure.Raw, progress func(float64)) (measure.Analysis, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	set, err := read(raw)
	if err != nil {
		return measure.Analysis{}, err
	}
	w := &work{raw: raw, set: set}
	if err := w.take(ctx, progress); err != nil {
		return measure.Analysis{}, err
	}
	w.fit, err = passband.Fit(ctx, w.c.points, passband.Options{ScatterKnown: w.c.known})
	if err != nil {
		if ctx.Err() != nil {
			return measure.Analysis{}, ctx.Err()
		}
		return measure.Analysis{}, &measure.Refusal{Row: -1, Found: err.Error()}
	}
	progress(0.8)
	w.r = w.fit.Measure()
	if !w.humpWithin() {
		return measure.Analysis{}, &measure.Refusal{Row: -1, Found: "a response that is largest at the end of the readings",
			Expected: "one that falls to both sides", Advice: "step on in that direction until it has fallen"}
	}
	w.sources = newSources(raw, w.c, w.fit)
	w.figures()
	w.remarks()
	w.out.Sentences = w.sentences()
	w.out.Plots = w.plots()
	progress(1)
	return w.out, ctx.Err()
}

// take reads the points from readings, or from a recording where there are no
// readings.
func (w *work) take(ctx context.Context, progress func(float64)) (err error) {
	recordings := w.raw.OfRole("noise")
	readings := w.raw.Series.Len() > 0
	switch {
	case w.set.method == methodNoise && len(recordings) == 0:
		return &measure.Refusal{Row: -1, Found: "no recording", Expected: "one of the noise through the set"}
	case len(recordings) > 0 && (w.set.method == methodNoise || !readings):
		w.c, err = w.fromNoise(ctx, recordings, progress)
		if readings {
			w.out.Notes = append(w.out.Notes, "the readings are not used: the passband is taken from the recording")
		}
	case readings:
		w.c, err = readPoints(w.raw, w.set)
		if len(recordings) > 0 {
			w.out.Notes = append(w.out.Notes, "the recording is not used: the passband is taken from the readings; the method \"noise\" takes the recording")
		}
	default:
		return &measure.Refusal{Row: -1, Found: "no reading and no recording", Expected: "frequencies with levels, or a recording of the noise through the set"}
	}
	var refusal *measure.Refusal
	if err != nil && !errors.As(err, &refusal) && ctx.Err() == nil {
		return &measure.Refusal{Row: -1, Found: err.Error()}
	}
	return err
}

// humpWithin says that the response falls to at least one side for certain.
func (w *work) humpWithin() bool {
	e := w.r.Edge(1)
	return e.LoReached || e.HiReached
}

// remarks passes on what is odd about the data.
func (w *work) remarks() {
	w.out.Notes = append(w.out.Notes, w.raw.Notes...)
	w.out.Notes = append(w.out.Notes, w.c.notes...)
	w.out.Warnings = append(w.out.Warnings, w.c.warnings...)
	if w.set.limiter == "on" {
		w.out.Warnings = append(w.out.Warnings, "the noise limiter was on: it bends what is read of a passband")
	}
	if w.c.assumed {
		w.note("the nominal frequency is taken from the set's description: %s", quantity.FormatNumber(w.c.nominal, "Hz"))
	}
	if w.c.known {
		return
	}
	for _, s := range w.fit.Strange() {
		w.warn("the reading at %s stands %.0f dB off the curve of the others: read it again, or strike it out; a notch narrower than the steps looks like this too",
			w.frequency(s.Hz), s.OffDB)
	}
}

// frequency prints a frequency of the run: offsets with their sign.
func (w *work) frequency(hz float64) string {
	text := quantity.FormatNumber(hz, "Hz")
	if w.c.offsets && hz > 0 {
		return "+" + text
	}
	return text
}

func (w *work) add(f run.Figure) {
	f.Method = Method
	if f.Conditions == nil {
		f.Conditions = map[string]string{}
	}
	f.Conditions["method"] = w.c.method
	for name, value := range map[string]string{"filter": w.set.filter, "where": w.set.where, "agc": w.set.agc} {
		if value != "" {
			f.Conditions[name] = value
		}
	}
	w.out.Figures = append(w.out.Figures, f)
}

// figure finds a figure given so far.
func (w *work) figure(id, down string) *run.Figure {
	for i := range w.out.Figures {
		f := &w.out.Figures[i]
		if f.ID == id && (down == "" || f.Conditions["down_db"] == down) {
			return f
		}
	}
	return nil
}

// top is the middle of the points 1 dB down, from which half-widths and
// notches are reckoned.
func top(s passband.Shape) float64 {
	e := s.Edge(1)
	if !e.Reached() {
		return math.NaN()
	}
	return e.Middle()
}
