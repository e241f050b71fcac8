package bfo

import (
	"context"
	"fmt"
	"math"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// work is one analysis on its way from raw data to figures.
type work struct {
	raw       measure.Raw
	set       setting
	d         *data
	drift     slope
	drifting  bool
	sd, dof   float64
	low, high quantity.Value
	fixed     bool
	ends      bool // low and high are known
	advice    []Advice
	out       measure.Analysis
}

// Analyse turns a run into the figures of its BFO. See [measure.Measurement].
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
	w.drift, w.drifting = w.d.drift()
	w.sd, w.dof = w.d.scatter(w.drift.hzPerS)
	w.endFigures()
	w.driftFigure()
	w.sidebands()
	w.remarks()
	w.out.Sentences = w.sentences()
	w.out.Plots = w.plots()
	progress(1)
	return w.out, ctx.Err()
}

// take reads the columns, or follows the beats where there are none.
func (w *work) take(ctx context.Context, progress func(float64)) (err error) {
	recs := w.raw.OfRole("beat")
	switch {
	case w.raw.Series.Len() > 0:
		w.d, err = fromReadings(w.raw, w.set)
		if len(recs) > 0 {
			w.note("the recordings are not used: the figures are those of the readings")
		}
	case len(recs) > 0:
		w.d, w.out.Stretches, err = fromRecordings(ctx, w.raw, recs, progress)
	default:
		err = &measure.Refusal{Row: -1, Found: "no reading and no recording", Expected: "the BFO's frequency at both ends of its control, or recordings of the beat"}
	}
	return err
}

func (w *work) note(format string, args ...any) {
	w.out.Notes = append(w.out.Notes, fmt.Sprintf(format, args...))
}

func (w *work) add(f run.Figure) {
	f.Method = Method
	w.out.Figures = append(w.out.Figures, f)
}

// value is the mean of a place with its sources.
func (w *work) value(p place) quantity.Value {
	hz, u := p.mean(w.sd)
	noise := quantity.RunSource(w.raw.RunID, "noise").Source("scatter of the readings", w.dof)
	v := quantity.New(hz, quantity.Contribution{Source: noise, C: u}).With(p.common...)
	v = v.With(quantity.Contribution{Source: quantity.RunSource(w.raw.RunID, "resolution").Source("last digit of the readings", 0), C: quantity.RectangularU(w.d.stepHz)})
	role, absolute := "beat", hz
	if !w.d.beat {
		role, absolute = "frequency", w.set.centreHz+hz
	}
	v = v.With(instruments(w.raw, role, absolute)...)
	middle := quantity.RunSource(w.raw.RunID, "middle").Source("middle of the passband", 0)
	return v.With(quantity.Contribution{Source: middle, C: -w.set.centreU})
}

// endFigures adds both ends, the same for a fixed BFO.
func (w *work) endFigures() {
	places := w.ended()
	switch {
	case len(places) == 1 && w.isFixed():
		w.fixed = true
		w.low = w.value(places[0])
		w.high = w.low
	case len(places) >= 2:
		w.low, w.high = w.value(places[0]), w.value(places[len(places)-1])
	default:
		w.note("the ends are not given: readings at one setting of the control only; if the BFO is fixed, say so in the option \"control\"")
		return
	}
	w.ends = true
	w.add(run.Figure{ID: "bfo_low", Unit: "Hz", Outcome: quantity.Known(w.low), Details: w.reference()})
	w.add(run.Figure{ID: "bfo_high", Unit: "Hz", Outcome: quantity.Known(w.high), Details: w.reference()})
}

// ended are the places that may be ends: those labelled so, or all.
func (w *work) ended() []place {
	var labelled []place
	for _, p := range w.d.places {
		if p.label == endLow || p.label == endHigh {
			labelled = append(labelled, p)
		}
	}
	if len(labelled) > 0 {
		return labelled
	}
	return w.d.places
}

// isFixed says that the one place is all there is of the BFO.
func (w *work) isFixed() bool { return w.set.control == "fixed" }

// reference says what the ends are reckoned from.
func (w *work) reference() []run.Detail {
	if w.d.beat {
		return []run.Detail{run.Text("reckoned_from", "a carrier set to the middle of the passband")}
	}
	return []run.Detail{run.Number("middle", "Hz", w.set.centreHz)}
}

// driftFigure adds the drift.
func (w *work) driftFigure() {
	if !w.drifting {
		w.note("drift is not given: it needs %d readings of one setting over two minutes at least, with their times", leastReadings)
		return
	}
	const hour = 3600
	noise := quantity.RunSource(w.raw.RunID, "drift").Source("scatter of the readings", w.drift.dof)
	v := quantity.New(w.drift.hzPerS*hour, quantity.Contribution{Source: noise, C: w.drift.u * hour})
	w.add(run.Figure{ID: "bfo_drift", Unit: "Hz/h", Outcome: quantity.Known(v), Details: []run.Detail{
		run.Number("over", "s", w.drift.spanS), run.Number("moved", "Hz", w.drift.movedHz), run.Number("readings", "count", float64(w.drift.readings))}})
}

// sidebands adds which signals can be copied, with the advice for each.
func (w *work) sidebands() {
	switch {
	case !w.ends:
		w.note("sidebands are not given: they need the reach of the BFO")
		return
	case !w.set.hasPassband():
		w.note("sidebands are not given: they need the measured passband; give its edges from a selectivity run in the options \"passband_low\" and \"passband_high\"")
		return
	}
	s := w.situation(w.set.injection == "high")
	advice := adviseAll(s)
	if w.set.injection == "" {
		other := adviseAll(w.situation(true))
		if copied(advice) != copied(other) {
			w.note("sidebands are not given: %s with the oscillator below the signal, %s with it above; say which in the option \"injection\"", copied(advice), copied(other))
			return
		}
		w.note("how to set the BFO depends on whether the oscillator runs above or below the signal; the advice is for below")
	}
	w.advice = advice
	f := run.Figure{ID: "sidebands", Outcome: quantity.Chosen(copied(advice)), Conditions: map[string]string{
		"passband": fmt.Sprintf("%.0f to %.0f Hz", s.PassLow, s.PassHigh)}}
	u := math.Max(w.low.U(), w.high.U())
	for _, a := range advice {
		d := run.Text(strings.ToLower(a.Mode), a.Text(w.fixed))
		d.Parts = []run.Detail{run.Number("bfo", "Hz", a.BFO), run.Number("signal_less_dial", "Hz", a.CarrierLessDial), run.Number("share", "1", a.Share), run.Number("other_side", "1", a.Other)}
		if a.Mode != CW && math.Abs(a.Share-s.Enough)*(s.SpeechHigh-s.SpeechLow) < 2*u {
			d.Parts = append(d.Parts, run.Text("borderline", "within two standard uncertainties of the BFO's reach of what is called enough"))
		}
		f.Details = append(f.Details, d)
	}
	w.add(f)
}

func (w *work) situation(inverted bool) Situation {
	return Situation{
		BFOLow: w.low.Estimate(), BFOHigh: w.high.Estimate(), PassLow: w.set.passLow, PassHigh: w.set.passHigh,
		SpeechLow: w.set.speech[0], SpeechHigh: w.set.speech[1], Enough: w.set.enough,
		Pitch: w.set.pitch, PitchLow: w.set.pitchRange[0], PitchHigh: w.set.pitchRange[1], Inverted: inverted,
	}
}

func adviseAll(s Situation) []Advice {
	var out []Advice
	for _, mode := range Modes {
		out = append(out, Advise(mode, s))
	}
	return out
}

// copied lists the modes that are copied.
func copied(all []Advice) string {
	var modes []string
	for _, a := range all {
		if a.Copied {
			modes = append(modes, a.Mode)
		}
	}
	if len(modes) == 0 {
		return "none"
	}
	return strings.Join(modes, ", ")
}

// remarks passes on what is odd about the data.
func (w *work) remarks() {
	w.out.Notes = append(w.out.Notes, w.raw.Notes...)
	w.out.Notes = append(w.out.Notes, w.d.notes...)
	w.out.Warnings = append(w.out.Warnings, w.d.warnings...)
	if w.set.assumed && !w.d.beat {
		w.note("the middle of the passband is taken to be the nominal intermediate frequency, %s: the measured one is better", quantity.FormatNumber(w.set.centreHz, "Hz"))
	}
	if w.ends && !w.fixed && w.low.Estimate() > 0 {
		w.out.Warnings = append(w.out.Warnings, "the BFO does not reach below the middle of the passband: re-set its trimmer so that zero beat lies at the middle of the control")
	}
	if w.ends && !w.fixed && w.high.Estimate() < 0 {
		w.out.Warnings = append(w.out.Warnings, "the BFO does not reach above the middle of the passband: re-set its trimmer so that zero beat lies at the middle of the control")
	}
}

// sentences say the result, most important first.
func (w *work) sentences() []string {
	var out []string
	if w.ends && w.fixed {
		out = append(out, fmt.Sprintf("The BFO is fixed, %s %s the middle of the passband.", size(w.low), aboveBelow(w.low.Estimate())))
	} else if w.ends {
		out = append(out, fmt.Sprintf("The BFO reaches from %s %s to %s %s the middle of the passband.",
			size(w.low), aboveBelow(w.low.Estimate()), size(w.high), aboveBelow(w.high.Estimate())))
	}
	if w.drifting {
		v := quantity.New(w.drift.hzPerS*3600, quantity.Contribution{Source: quantity.Source{ID: "drift"}, C: w.drift.u * 3600})
		out = append(out, fmt.Sprintf("It drifts by %s.", quantity.Format(v, "Hz/h")))
	}
	if w.advice != nil {
		s := copied(w.advice) + " can be copied with this passband."
		if copied(w.advice) == "none" {
			s = "Neither sideband nor telegraphy can be copied with this passband."
		}
		out = append(out, s)
		for _, a := range w.advice {
			out = append(out, a.Mode+": "+a.Text(w.fixed)+".")
		}
	}
	if len(out) == 0 {
		hz, _ := w.d.places[0].mean(0)
		out = append(out, fmt.Sprintf("The BFO stood %s %s the middle of the passband; that is all one reading tells.", hertz(math.Abs(hz)), aboveBelow(hz)))
	}
	return out
}

func size(v quantity.Value) string { return quantity.Format(v.Abs(), "Hz") }
