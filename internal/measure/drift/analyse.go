package drift

import (
	"context"
	"errors"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/stability"
)

// work is one analysis on its way from raw data to figures.
type work struct {
	raw      measure.Raw
	beat     *beat // nil where the record is a log
	marked   bool  // power-on by a mark in the recording
	set      settings
	record   stability.Record
	a        *stability.Analysis
	fit      *stability.WarmUp // nil where none could be made
	noFit    error
	sources  sources
	out      measure.Analysis
	residual *stability.ResidualDrift
}

// Analyse turns a run into its drift figures. See [measure.Measurement].
func (Measurement) Analyse(ctx context.Context, raw measure.Raw, progress func(float64)) (measure.Analysis, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	set, err := read(raw)
	if err != nil {
		return measure.Analysis{}, err
	}
	w := &work{raw: raw, set: set}
	share := 0.05
	if fromRecording(raw) {
		share = 0.6
		err = w.takeBeat(ctx, func(x float64) { progress(share * x) })
	} else {
		err = w.takeRecord()
	}
	if err != nil {
		return measure.Analysis{}, err
	}
	set = w.set
	progress(share)
	w.a, err = stability.Analyse(ctx, w.record, stability.Options{
		HorizonS: nonNaN(set.horizonS), BandsHz: set.bandsHz, NominalHz: nonNaN(set.nominalHz),
		BeatNote: w.beat != nil || set.oscillator == "set", Fit: w.fitter,
	})
	if err != nil {
		return measure.Analysis{}, w.refusal(err)
	}
	progress(0.7)
	w.sources = newSources(raw, set, w.a.ResolutionHz)
	if w.beat != nil {
		w.sources.fromSound(w.beat.scale)
	}
	w.out.Notes = append(w.out.Notes, raw.Notes...)
	w.warn()
	w.listSetAside()
	w.figures(ctx)
	if ctx.Err() != nil {
		return measure.Analysis{}, ctx.Err()
	}
	progress(0.95)
	w.out.Sentences = w.sentences()
	w.out.Plots = w.plots()
	w.stretches()
	return w.out, nil
}

// takeRecord makes the record from the columns of the run.
func (w *work) takeRecord() error {
	t, f := w.raw.Series.Column("time"), w.raw.Series.Column("frequency")
	if t == nil || f == nil {
		return &measure.Refusal{Row: -1, Found: "no column of times and frequencies together", Expected: "both",
			Advice: "say which column is which, for example --column 1=time --column 2=frequency:kHz"}
	}
	if len(t.Values) < 2 {
		return &measure.Refusal{Row: -1, Found: countOf(len(t.Values)), Expected: "two at least"}
	}
	w.record = stability.Record{TimeS: t.Values, FrequencyHz: f.Values, ResolutionHz: displayStep(w.raw, f)}
	if c := w.raw.Series.Column("ambient"); c != nil {
		w.record.AmbientC = c.Values
	}
	if !math.IsNaN(w.set.powerOnS) {
		w.record.FirstReadingAfterS = t.Values[0] - w.set.powerOnS
	}
	return nil
}

// displayStep is one step of the readings in hertz: of the digits given, or of
// the display they were read from, whichever is coarser.
func displayStep(raw measure.Raw, f *run.Column) float64 {
	step := f.Resolution
	for _, in := range raw.Setup.Instruments {
		if in.Reads == "frequency" {
			step = math.Max(step, in.Resolution)
		}
	}
	return step
}

// fitter fits the warm-up and keeps the last fit.
func (w *work) fitter(ctx context.Context, t, f []float64) (stability.Trend, error) {
	trend, err := stability.FitTrend(ctx, t, f)
	w.fit, w.noFit = nil, err
	if fit, ok := trend.(stability.WarmUp); ok {
		w.fit = &fit
	}
	return trend, err
}

// refusal turns an error of the computing rooms into one that names the row of
// the raw data.
func (w *work) refusal(err error) error {
	var back *stability.TimeBackwardsError
	var bad *stability.BadReadingError
	switch {
	case errors.As(err, &back):
		return &measure.Refusal{Row: w.rawRow(back.Index), Found: fmt.Sprintf("a time of %s s after one of %s s", plain(back.NowS), plain(back.BeforeS)),
			Expected: "times that never run backwards", Advice: "if the log was started anew, split it there"}
	case errors.As(err, &bad):
		return &measure.Refusal{Row: w.rawRow(bad.Index), Found: fmt.Sprintf("%g as %s", bad.Found, bad.Column), Expected: "a finite number"}
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	}
	return &measure.Refusal{Row: -1, Found: err.Error()}
}

// countOf is a number of readings in words.
func countOf(n int) string {
	switch n {
	case 0:
		return "no reading"
	case 1:
		return "one reading"
	}
	return fmt.Sprintf("%d readings", n)
}

// rawRow returns the row of the unamended series.
func (w *work) rawRow(i int) int {
	if i >= 0 && i < len(w.raw.Rows) {
		return w.raw.Rows[i]
	}
	return i
}

// warn passes on what is odd about the record.
func (w *work) warn() {
	for _, x := range w.a.Warnings {
		text := x.Text
		if x.Count > 0 {
			text = fmt.Sprintf("%s: %d, the first at reading %d", x.Text, x.Count, w.rawRow(x.Indices[0])+1)
		}
		w.out.Warnings = append(w.out.Warnings, text)
	}
	if w.fit != nil {
		w.out.Warnings = append(w.out.Warnings, w.fit.Warnings...)
	}
	if n := len(w.a.Gaps); n > 0 {
		w.out.Notes = append(w.out.Notes, gapsOf(n)+" of more than three usual spacings; nothing is smoothed or averaged across gaps")
	}
	w.warnBeat()
	if w.beat == nil && math.IsNaN(w.set.powerOnS) {
		w.note("the moment of power-on is not stated: the first reading is taken for it")
	}
	if w.set.oscillator == "set" {
		w.note("a beat note holds what the generator and the beat oscillator do as well as the set")
	}
	if w.set.oscillator == "" {
		w.out.Notes = append(w.out.Notes, "which oscillator was watched is not stated; two runs can be compared only when it is")
	}
}

// gapsOf is a number of gaps in words.
func gapsOf(n int) string {
	if n == 1 {
		return "one gap"
	}
	return fmt.Sprintf("%d gaps", n)
}

// listSetAside lists the readings that took no part.
func (w *work) listSetAside() {
	for _, s := range w.a.Slips {
		w.out.SetAside = append(w.out.SetAside, measure.SetAside{
			Row: w.rawRow(s.Index), TimeS: s.TimeS, Value: s.ValueHz, Unit: "Hz",
			Reason: fmt.Sprintf("%s: by its neighbours about %s was expected", s.Reason, quantity.FormatNumber(w.told(s.ExpectedHz), "Hz")),
		})
	}
}

// told rounds a frequency to the resolution of the readings.
func (w *work) told(hz float64) float64 {
	step := w.a.ResolutionHz
	if step <= 0 {
		return hz
	}
	if step < 1 { // by division, which leaves no tail of digits
		return math.Round(hz*math.Round(1/step)) / math.Round(1/step)
	}
	return math.Round(hz/step) * step
}

// add appends a figure with the conditions that all figures of the run share.
func (w *work) add(f run.Figure, conditions map[string]string) {
	f.Method = Method
	f.Conditions = map[string]string{"horizon_s": plain(w.a.HorizonS)}
	if w.set.oscillator != "" {
		f.Conditions["oscillator"] = w.set.oscillator
	}
	if !math.IsNaN(w.set.dialHz) {
		f.Conditions["dial_hz"] = plain(w.set.dialHz)
	}
	if band := w.raw.Option(Measurement{}.About(), "band"); band != "" {
		f.Conditions["band"] = band
	}
	for k, v := range conditions {
		f.Conditions[k] = v
	}
	w.out.Figures = append(w.out.Figures, f)
}

// note says why something is not given.
func (w *work) note(format string, args ...any) {
	w.out.Notes = append(w.out.Notes, fmt.Sprintf(format, args...))
}

func nonNaN(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}
