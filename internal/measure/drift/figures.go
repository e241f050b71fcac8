package drift

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"

	"setwright/internal/run"
	"setwright/quantity"
	"setwright/stability"
)

// figures adds every drift figure that the record gives, in the order in which
// a restorer asks for them.
func (w *work) figures(ctx context.Context) {
	for _, s := range w.a.Settling {
		w.settling(s)
	}
	for _, u := range w.a.Usable {
		w.usable(u)
	}
	w.result("excursion", "Hz", w.a.Excursion, w.sources.change)
	w.residualDrift()
	w.wander()
	w.jumps()
	w.tempco()
	w.result("closing_frequency", "Hz", w.a.Closing, func(r stability.Result) quantity.Value {
		return w.sources.frequency(r.Value, r.U, r.DoF)
	})
	w.injection()
	w.fitted()
	w.deviations(ctx)
}

// result adds a figure, or says why it is absent.
func (w *work) result(id, unit string, r stability.Result, value func(stability.Result) quantity.Value, details ...run.Detail) {
	if !r.Given() {
		w.note("%s is not given: %s", titleOf(id), r.Reason)
		return
	}
	if r.Reason != "" {
		details = append(details, run.Text("why", string(r.Reason)))
	}
	w.add(run.Figure{ID: id, Unit: unit, Outcome: outcome(r, value), Details: details}, nil)
}

// settling adds the settling time to one band.
func (w *work) settling(s stability.Settling) {
	conditions := map[string]string{"band_hz": plain(s.BandHz)}
	if !s.Given() {
		w.note("settling time to ±%s Hz is not given: %s", plain(s.BandHz), s.Reason)
		return
	}
	var d []run.Detail
	if s.Reason != "" {
		d = append(d, run.Text("why", string(s.Reason)))
	}
	d = number(d, "by_the_letter", "s", s.ByLetterS)
	d = number(d, "predicted", "s", s.PredictedS)
	d = number(d, "first_entry", "s", s.FirstEntryS)
	travel := run.Number("travel_next_hour", "Hz", w.oriented(s.TravelHz))
	if u := s.TravelUHz; u > 0 && !math.IsInf(u, 0) {
		travel.U = &u
	}
	if !math.IsNaN(s.TravelHz) {
		d = append(d, travel)
	}
	if s.Borderline {
		d = append(d, run.Text("borderline", "the travel predicted for the next hour is within two of its uncertainties of the band"))
	}
	w.add(run.Figure{ID: "settling_time", Unit: "s", Outcome: w.sources.timeOutcome(s.Result), Details: d}, conditions)
}

// usable adds the time after which no ten minutes move too far.
func (w *work) usable(u stability.Usable) {
	if !u.Given() {
		w.note("time until usable to ±%s Hz is not given: %s", plain(u.BandHz), u.Reason)
		return
	}
	var d []run.Detail
	if u.Reason != "" {
		d = append(d, run.Text("why", string(u.Reason)))
	}
	d = number(d, "by_the_letter", "s", u.ByLetterS)
	w.add(run.Figure{ID: "usable_after", Unit: "s", Outcome: w.sources.timeOutcome(u.Result), Details: d},
		map[string]string{"band_hz": plain(u.BandHz)})
}

// wander adds the largest movement within ten minutes after settling.
func (w *work) wander() {
	x := w.a.Wander
	w.result("wander", "Hz", x.Result, w.sources.change, run.Number("from", "s", x.FromS), run.Number("band", "Hz", x.BandHz), run.Number("window_end", "s", x.AtS))
}

// jumps adds the count of steps with each of them in the details.
func (w *work) jumps() {
	if len(w.a.TimeS) < 12 {
		w.note("jumps are not looked for in fewer than 12 readings")
		return
	}
	f := run.Figure{ID: "jumps", Unit: "count", Outcome: quantity.Counted(len(w.a.Jumps))}
	for _, j := range w.a.Jumps {
		size := run.Number("size", "Hz", w.oriented(j.SizeHz))
		if u := j.UHz; !math.IsNaN(u) && !math.IsInf(u, 0) {
			size.U = &u
		}
		f.Details = append(f.Details, run.Detail{ID: "jump", Parts: []run.Detail{
			run.Number("time", "s", j.TimeS), size, run.Number("significance", "1", j.Sigmas), run.Number("by_chance", "1", j.P),
		}})
	}
	f.Details = append(f.Details, run.Text("test", "false alarm in one jump-free record of a hundred"))
	w.add(f, nil)
}

// tempco adds the temperature coefficient.
func (w *work) tempco() {
	x := w.a.Tempco
	if x.ChangeS > 0 {
		at := quantity.FormatNumber(math.Round(x.ChangeS/60)*60, "s")
		w.note("ambient was made to change from %s on: what looks at the end of the record holds that too; a horizon of %s leaves it out", at, at)
	}
	w.result("tempco", "1/K", x.Result, w.sources.perKelvin, run.Number("from", "s", x.FromS), run.Number("band", "Hz", x.BandHz), run.Number("lag", "s", x.LagS), run.Number("ambient_span", "K", x.SpanK), run.Number("readings", "count", float64(x.N)))
}

// injection compares the oscillator with the dial.
func (w *work) injection() {
	if w.beat != nil {
		return // a beat note says nothing of where the oscillator stands
	}
	if w.set.oscillator != "local" || math.IsNaN(w.set.dialHz) || !w.a.Closing.Given() {
		w.note("injection and intermediate frequency are not given: they need the local oscillator watched and the dial frequency")
		return
	}
	side, _ := stability.Injection(w.a.Closing.Value, w.set.dialHz)
	if side == "" {
		w.note("injection: the oscillator stands on the dial frequency; is it the local oscillator?")
		return
	}
	w.add(run.Figure{ID: "injection", Outcome: quantity.Chosen(side)}, nil)
	closing := w.sources.frequency(w.a.Closing.Value, w.a.Closing.U, w.a.Closing.DoF)
	distance := closing.Sub(quantity.Exact(w.set.dialHz))
	if side == "low" {
		distance = distance.Neg()
	}
	w.note("the intermediate frequency takes the dial at its word: an error of the dial is in it and not in its uncertainty")
	f := run.Figure{ID: "if_estimate", Unit: "Hz", Outcome: quantity.Known(distance)}
	if !math.IsNaN(w.set.ifHz) {
		f.Details = append(f.Details, run.Number("nominal", "Hz", w.set.ifHz), run.Number("off_nominal", "Hz", distance.Estimate()-w.set.ifHz))
	}
	w.add(f, nil)
}

// fitted adds the figures of the fitted curve.
func (w *work) fitted() {
	if w.fit == nil {
		w.note("time constant and final frequency are not given: %s", why(w.noFit))
		return
	}
	f, u := w.fit.LimitAt(w.a.HorizonS)
	dof := math.Max(w.fit.DoFLimit, 1)
	if !math.IsNaN(f) && !math.IsInf(u, 0) {
		w.add(run.Figure{ID: "final_frequency", Unit: "Hz", Outcome: quantity.Known(w.sources.frequency(f, u, dof)),
			Details: []run.Detail{run.Number("terms", "count", float64(len(w.fit.Terms))), run.Number("residual_sd", "Hz", w.fit.SigmaHz), run.Number("effective_readings", "count", math.Round(w.fit.Effective))}}, nil)
	}
	for i, term := range w.fit.Terms {
		amplitude := run.Number("amplitude", "Hz", term.AmplitudeHz)
		if ua := term.UAmplitudeHz; !math.IsNaN(ua) && !math.IsInf(ua, 0) {
			amplitude.U = &ua
		}
		w.add(run.Figure{ID: "time_constant", Unit: "s", Outcome: quantity.Known(w.sources.noisy(term.TauS, term.UTauS, term.DoF)),
			Details: []run.Detail{amplitude}}, map[string]string{"term": strconv.Itoa(i + 1)})
	}
	if len(w.fit.Terms) == 0 {
		w.note("time constant is not given: no exponential explains this record better than a straight line does")
	}
}

// why gives the reason of an error in words for a note.
func why(err error) string {
	var n *stability.NotGivenError
	if errors.As(err, &n) {
		return fmt.Sprintf("%v: found %s, expected %s", n.Kind, n.Found, n.Expected)
	}
	return err.Error()
}

// titleOf is the name of a figure for people.
func titleOf(id string) string {
	for _, f := range figures {
		if f.ID == id {
			return f.Title
		}
	}
	return id
}

// number adds a detail where the number is one.
func number(d []run.Detail, id, unit string, x float64) []run.Detail {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return d
	}
	return append(d, run.Number(id, unit, x))
}

// plain prints a number for a condition: shortest form.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
