package drift

import (
	"math"

	"setwright/internal/run"
	"setwright/quantity"
	"setwright/stability"
)

// residualDrift adds the slope over the closing window. Its uncertainty rests
// on the noise of the whole record's residual.
func (w *work) residualDrift() {
	settled := w.settledLength()
	switch {
	case settled <= 0:
		w.note("residual drift is not given: the record settles to none of the bands")
		return
	case settled < stability.LeastSettledLength:
		w.note("residual drift is not given: %s of the record are settled to any of the bands, at least 15 min are needed", quantity.FormatNumber(math.Round(settled), "s"))
		return
	}
	r, err := stability.FitResidualDrift(w.a.TimeS, w.a.FrequencyHz, w.noise(), stability.ResidualDriftOptions{
		WindowS: nonNaN(w.set.windowS), UsableS: w.usableFrom(), HorizonS: w.a.HorizonS, Steps: w.steps(),
	})
	if err != nil {
		w.note("residual drift is not given: %s", why(err))
		return
	}
	w.residual = &r
	v := w.sources.noisy(r.HzPerHour, r.UHzPerHour, r.DoF)
	for _, b := range w.sources.timebase {
		v = v.With(quantity.Contribution{Source: b.Source, C: r.HzPerHour * b.relative})
	}
	if sign := w.sense(); sign < 0 || sign == 0 && v.Estimate() < 0 {
		v = v.Neg()
	}
	d := []run.Detail{
		run.Number("from", "s", r.FromS), run.Number("to", "s", r.ToS),
		run.Number("readings", "count", float64(r.Readings)), run.Text("noise", string(r.Noise)),
	}
	if len(r.Steps) > 0 {
		with := run.Number("with_jumps", "Hz/h", w.oriented(r.WithStepsHzPerHour))
		with.U = &r.UWithHzPH
		d = append(d, with, run.Number("jumps_taken_out", "count", float64(len(r.Steps))))
	}
	w.add(run.Figure{ID: "residual_drift", Unit: "Hz/h", Outcome: quantity.Known(v), Details: d}, nil)
}

// noise is the model of what the fit left, the zero model where there is none.
func (w *work) noise() stability.Noise {
	if w.fit == nil {
		return stability.Noise{}
	}
	return w.fit.Noise
}

// steps are the jumps in the form that the fit takes them out in.
func (w *work) steps() []stability.Step {
	var out []stability.Step
	for _, j := range w.a.Jumps {
		out = append(out, stability.Step{AtS: j.TimeS + j.GapS/2, SizeHz: j.SizeHz, UHz: j.UHz})
	}
	return out
}

// settledLength is how much of the record is settled to the smallest band that
// was reached, in s; 0 where none was.
func (w *work) settledLength() float64 {
	longest := 0.0
	for _, s := range w.a.Settling { // from the widest band to the smallest
		switch s.Kind {
		case quantity.KindValue:
			longest = w.a.HorizonS - s.Value
		case quantity.KindInterval:
			longest = w.a.HorizonS - s.Hi
		}
	}
	return longest
}

// usableFrom is usable_after for the smallest band that gives a time, 0 where
// none does.
func (w *work) usableFrom() float64 {
	for i := len(w.a.Usable) - 1; i >= 0; i-- {
		switch u := w.a.Usable[i]; u.Kind {
		case quantity.KindValue:
			return u.Value
		case quantity.KindInterval:
			return u.Hi
		}
	}
	return 0
}
