package agc

import (
	"fmt"
	"math"
	"strconv"

	"setwright/internal/measure"
	"setwright/internal/measure/pool"
	"setwright/internal/measure/settings"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// settling is one step of the input and what the output did after it.
type settling struct {
	f       followed
	event   signal.StepEvent
	r       signal.Recovery
	up      bool
	inputDB float64 // size of the step of the input
	toS     float64 // end of what was fitted
}

// leastHoldS is how long a level must be held for its step to count.
const leastHoldS = 0.3

// stepped adds attack, recovery and overshoot.
func (w *work) stepped(all []followed) {
	if len(all) == 0 {
		return
	}
	bySize := map[float64][]settling{}
	var sizes []float64
	for _, f := range all {
		size, err := settings.Label(f.rec, recordings[0], "step")
		if err != nil {
			w.note("%s is not used: %v", name(f.rec), err)
			continue
		}
		if bySize[size] == nil {
			sizes = append(sizes, size)
		}
		found := w.settlings(f, size)
		if len(found) > 0 && f.rec.Labels["step"] == "" {
			w.note("%s: the step of the input is not written on it and taken as %s dB", name(f.rec), plain(size))
		}
		bySize[size] = append(bySize[size], found...)
	}
	for _, size := range sizes {
		var up, down []settling
		for _, s := range bySize[size] {
			if s.up {
				up = append(up, s)
			} else {
				down = append(down, s)
			}
		}
		w.timeFigure("agc_attack", size, up)
		w.timeFigure("agc_recovery", size, down)
		w.overshootFigure(size, up, "up")
		w.stepPlot("attack", "After a step up", size, up)
		w.stepPlot("recovery", "After a step down", size, down)
	}
}

// settlings finds the steps of a recording and fits what follows each.
func (w *work) settlings(f followed, size float64) []settling {
	events := signal.FindSteps(f.env, signal.StepOptions{})
	if len(events) == 0 {
		w.note("%s: no step of 3 dB and more in the output: is the input switched, and is the signal strong enough to be heard over the noise?", name(f.rec))
		return nil
	}
	events = apart(events)
	var out []settling
	end := f.env.TimeS[len(f.env.TimeS)-1]
	for i, e := range events {
		to := math.Min(end, f.nextGap(e.TimeS)-f.env.WindowS)
		if i+1 < len(events) {
			to = math.Min(to, events[i+1].TimeS-f.env.WindowS)
		}
		at := fmt.Sprintf("the step at %s s of %s", short(e.TimeS), name(f.rec))
		switch {
		case f.touched(e.TimeS-0.2, e.TimeS+0.05):
			w.note("%s is not used: a gap touches it", at)
			continue
		case f.seen.Overdriven(f.frame(e.TimeS-0.05), f.frame(to)):
			w.note("%s is not used: the sound input was driven to full scale; turn it down so that the surge after the step fits", at)
			continue
		case to-e.TimeS < leastHoldS:
			w.note("%s is not used: found %s s until the next step, gap or end, expected %s s at least", at, short(math.Max(0, to-e.TimeS)), short(leastHoldS))
			continue
		}
		r, err := signal.FitRecovery(f.env, e, signal.RecoveryOptions{CriterionDB: w.set.criterionDB, ToS: to})
		if err != nil {
			w.note("%s is not used: %v", at, err)
			continue
		}
		if !r.Bound && r.U > r.Seconds && r.Seconds > 0 {
			w.note("%s is not used: the settling curve does not fix its time", at)
			continue
		}
		if why := unlikely(r, e, size); why != "" {
			w.note("%s is not used: %s", at, why)
			continue
		}
		out = append(out, settling{f: f, event: e, r: r, up: e.AfterDB > e.BeforeDB, inputDB: size, toS: to})
	}
	return out
}

// What tells a gain control's movement from a tone that is merely keyed: the
// settled output moves by less than the input, and as a rule it surges first.
const (
	overDB    = 3.0 // by so much more than the input no set moves its output
	actsShare = 0.7 // of the input's step: from there on a surge must show
	surgeDB   = 1.0
	// less is no step of the output but noise
	leastStepDB = 2.0
)

// unlikely says why what followed a step is no settling of a gain control.
func unlikely(r signal.Recovery, e signal.StepEvent, size float64) string {
	moved := math.Abs(r.FinalDB - e.BeforeDB)
	surge := math.Abs(r.StepDB) - moved
	if r.Bound && r.AtMost {
		surge = 0 // faster than the detector: what it would have been is a guess
	}
	switch {
	case math.Max(moved, math.Abs(e.AfterDB-e.BeforeDB)) > size+overDB:
		moved = math.Max(moved, math.Abs(e.AfterDB-e.BeforeDB))
		return fmt.Sprintf("the output moved by %s dB, the input by %s: a gain control makes it less, never more; was the tone keyed, or another pad switched?", short(moved), short(size))
	case math.Max(moved, math.Abs(e.AfterDB-e.BeforeDB)) < leastStepDB:
		return "the noise swings, the level does not step"
	case moved > actsShare*size && surge < surgeDB:
		return fmt.Sprintf("the output moved by %s dB at once and stayed there: no gain control acts on a step of %s dB here; is it on, and the signal above its knee?", short(moved), short(size))
	}
	return ""
}

// apart keeps of steps that follow each other within leastHoldS the first: what
// comes right after a step is the gain control taking hold, or the switch
// bouncing.
func apart(events []signal.StepEvent) []signal.StepEvent {
	var out []signal.StepEvent
	for _, e := range events {
		if n := len(out); n == 0 || e.TimeS-out[n-1].TimeS > leastHoldS {
			out = append(out, e)
		}
	}
	return out
}

// stepConditions are the conditions of a step's figures.
func (w *work) stepConditions(size float64) map[string]string {
	return map[string]string{"step_db": plain(size), "criterion_db": plain(w.set.criterionDB)}
}

// timeFigure adds the time of one direction, pooled over its steps, each of
// which stands in the details.
func (w *work) timeFigure(id string, size float64, all []settling) {
	title := titleOf(id)
	if len(all) == 0 {
		w.note("%s is not given: no usable step of that direction", title)
		return
	}
	f := run.Figure{ID: id, Unit: "s", Conditions: w.stepConditions(size), Details: []run.Detail{run.Number("steps", "count", float64(len(all)))}}
	var known []pool.Observed
	var atMost, atLeast []float64
	for i, s := range all {
		switch {
		case s.r.Bound && s.r.AtMost:
			atMost = append(atMost, s.r.Seconds)
		case s.r.Bound:
			atLeast = append(atLeast, s.r.Seconds)
		case s.r.Seconds == 0: // never outside the criterion, as far as the detector sees
			atMost = append(atMost, math.Max(windowS, 2*s.r.U))
		default:
			known = append(known, pool.Observed{X: s.r.Seconds, U: s.r.U})
		}
		f.Details = append(f.Details, stepDetail(i, s))
		w.out.Stretches = append(w.out.Stretches, measure.Stretch{Recording: s.f.index, FromS: s.event.TimeS, ToS: s.toS,
			Label: title + " " + strconv.Itoa(i+1), Figures: []string{id}})
	}
	f.Outcome = w.timeOutcome(known, atMost, atLeast, all[0].f.scale)
	if n := len(atMost) + len(atLeast); n > 0 && f.Kind == quantity.KindValue {
		w.note("%s: %s of %d gave only a bound and took no part in the mean", title, plural(n, "step", "steps"), len(all))
	}
	w.add(f)
}

// detectorS is what a time owes to the way in which it is taken, one standard
// uncertainty: the moment of the step, which a tone of 1 kHz shows to half its
// period (0.5 ms, rectangular), seen through a window of 10 ms (by simulation,
// see the test of coverage).
const detectorS = 0.2e-3

// timeOutcome is the mean of the times where most steps gave one, else a bound.
func (w *work) timeOutcome(known []pool.Observed, atMost, atLeast []float64, scale measure.SoundScale) quantity.Outcome {
	if len(known) >= len(atMost) && len(known) >= len(atLeast) {
		v := w.pooledValue(known)
		t, parts := scale.Seconds(v.Estimate())
		v = v.Shift(t - v.Estimate()).With(parts...)
		return quantity.Known(v.With(quantity.Contribution{Source: w.sources.detector, C: detectorS}))
	}
	if len(atMost) >= len(atLeast) { // every step is below its own bound; all below the largest
		return quantity.Below(quantity.Exact(maxOf(atMost)))
	}
	return quantity.Above(quantity.Exact(minOf(atLeast)))
}

func stepDetail(i int, s settling) run.Detail {
	t := run.Number("time", "s", s.r.Seconds)
	u := s.r.U
	t.U = &u
	d := run.Detail{ID: "step_" + strconv.Itoa(i+1), Parts: []run.Detail{
		run.Number("at", "s", s.event.TimeS), t, run.Number("output_step", "dB", s.r.StepDB),
		run.Number("time_constant", "s", s.r.TauS), run.Number("final", "dBFS", s.r.FinalDB),
	}}
	if s.r.Why != "" {
		d.Parts = append(d.Parts, run.Text("why", s.r.Why))
	}
	return d
}

// overshootFigure adds how far the output runs past its final level.
func (w *work) overshootFigure(size float64, all []settling, direction string) {
	var known []pool.Observed
	for _, s := range all {
		if !(s.r.Bound && !s.r.AtMost) {
			known = append(known, pool.Observed{X: s.r.OvershootDB, U: s.r.OvershootU})
		}
	}
	if len(known) == 0 {
		return
	}
	w.add(run.Figure{ID: "agc_overshoot", Unit: "dB", Outcome: quantity.Known(w.pooledValue(known)),
		Conditions: map[string]string{"step_db": plain(size), "direction": direction},
		Details:    []run.Detail{run.Number("steps", "count", float64(len(known)))}})
}

func maxOf(x []float64) float64 {
	m := math.Inf(-1)
	for _, v := range x {
		m = math.Max(m, v)
	}
	return m
}

func minOf(x []float64) float64 {
	m := math.Inf(1)
	for _, v := range x {
		m = math.Min(m, v)
	}
	return m
}

func titleOf(id string) string {
	for _, f := range figures {
		if f.ID == id {
			return f.Title
		}
	}
	return id
}
