package selectivity

import (
	"fmt"
	"math"
	"strconv"

	"setwright/internal/measure/selectivity/passband"
	"setwright/internal/run"
	"setwright/quantity"
)

// figures adds every figure that the curve gives, in the order in which a
// restorer asks for them.
func (w *work) figures() {
	w.bandwidth("bandwidth_6", 6)
	w.bandwidth("bandwidth_60", 60)
	w.shapeFactor()
	w.noiseBandwidth()
	w.centre()
	w.skew(6)
	w.skew(60)
	w.ripple()
	w.notch()
}

func (w *work) note(format string, args ...any) {
	w.out.Notes = append(w.out.Notes, fmt.Sprintf(format, args...))
}

func (w *work) warn(format string, args ...any) {
	w.out.Warnings = append(w.out.Warnings, fmt.Sprintf(format, args...))
}

// perLevel is the change of a number if all decibels were larger by their
// whole, to first order.
func (w *work) perLevel(of func(passband.Shape) float64) float64 {
	const h = 0.01
	return (of(w.r.Scaled(1+h)) - of(w.r.Scaled(1-h))) / (2 * h)
}

// value is a number of the shape as an outcome, with an uneven interval where
// its draws lie unevenly.
func (w *work) value(e passband.Estimate, of func(passband.Shape) float64, p parts) quantity.Outcome {
	p.perLevel = w.perLevel(of)
	o := quantity.Known(w.sources.value(e.Value, e.U, p))
	up, down := e.Hi-e.Value, e.Value-e.Lo
	if up > 0 && down > 0 && (up > 1.4*down || down > 1.4*up) {
		// what is no scatter of the readings widens both sides
		u := o.Value.U()
		rest := 1.96 * math.Sqrt(math.Max(0, u*u-e.U*e.U))
		k := quantity.Coverage(0.95, orInf(w.sources.readings.DoF)) / 1.96
		up, down = k*up, k*down
		o.CI = &[2]float64{e.Value - math.Hypot(down, rest), e.Value + math.Hypot(up, rest)}
		o.Level = 0.95
	}
	return o
}

func orInf(dof float64) float64 {
	if dof <= 0 {
		return math.Inf(1)
	}
	return dof
}

// bandwidth adds a width, or what it is at least.
func (w *work) bandwidth(id string, down float64) {
	of := func(s passband.Shape) float64 {
		if e := s.Edge(down); e.Reached() {
			return e.Width()
		}
		return math.NaN()
	}
	e := w.r.Bandwidth(down)
	edge := w.r.Edge(down)
	f := run.Figure{ID: id, Unit: "Hz"}
	if e.Given() {
		f.Outcome = w.value(e, of, parts{scaled: e.Value, edges: 2})
		f.Details = []run.Detail{run.Number("lower_edge", "Hz", edge.Lo), run.Number("upper_edge", "Hz", edge.Hi)}
	} else {
		f.Outcome = quantity.Above(w.sources.value(e.Least, 0, parts{scaled: e.Least}))
		f.Details = append(f.Details, run.Text("why", w.reach(down)))
		if hz, ok := w.r.Outlook(down); ok {
			f.Details = append(f.Details, run.Detail{ID: "extrapolated", Text: "not measured: what the width would be if the skirts fall on as they do at their ends",
				Parts: []run.Detail{run.Number("width", "Hz", hz)}})
		}
	}
	if id == "bandwidth_6" {
		f.Details = append(f.Details, w.otherWidths()...)
	}
	w.add(f)
}

// reach says on which side the readings end before a level.
func (w *work) reach(down float64) string {
	hz, db, _ := w.r.Fitted()
	e := w.r.Edge(down)
	n := len(hz) - 1
	switch {
	case !e.LoReached && !e.HiReached:
		return fmt.Sprintf("%s %.1f dB down on the lower side and %.1f dB down on the upper", w.end(), -db[0], -db[n])
	case !e.LoReached:
		return fmt.Sprintf("%s %.1f dB down on the lower side", w.end(), -db[0])
	case !e.HiReached:
		return fmt.Sprintf("%s %.1f dB down on the upper side", w.end(), -db[n])
	}
	return fmt.Sprintf("%s about %g dB down", w.end(), down)
}

// end says what ends.
func (w *work) end() string {
	switch {
	case w.c.known && w.c.cut:
		return "the audio band of the recording ends"
	case w.c.known:
		return "the noise stands clear of the floor only to"
	}
	return "the readings end"
}

// otherWidths lists the widths at further levels.
func (w *work) otherWidths() []run.Detail {
	var out []run.Detail
	for _, down := range []float64{3, 20, 40} {
		if e := w.r.Bandwidth(down); e.Given() {
			d := run.Number("bandwidth_"+strconv.FormatFloat(down, 'f', -1, 64), "Hz", e.Value)
			d.U = &e.U
			out = append(out, d)
		}
	}
	return out
}

// shapeFactor adds the ratio of the two widths.
func (w *work) shapeFactor() {
	of := func(s passband.Shape) float64 {
		a, b := s.Edge(6), s.Edge(60)
		if !a.Reached() || !b.Reached() {
			return math.NaN()
		}
		return b.Width() / a.Width()
	}
	e := w.r.Estimate(of, func(s passband.Shape) float64 {
		if a := s.Edge(6); a.Reached() {
			return s.Edge(60).Width() / a.Width()
		}
		return 1
	})
	six := w.r.Bandwidth(6)
	switch {
	case e.Given():
		w.add(run.Figure{ID: "shape_factor", Unit: "1", Outcome: w.value(e, of, parts{})})
	case six.Given():
		w.add(run.Figure{ID: "shape_factor", Unit: "1", Outcome: quantity.Above(quantity.Exact(e.Least)),
			Details: []run.Detail{run.Text("why", w.reach(60))}})
	default:
		w.note("shape factor is not given: the curve does not fall by 6 dB to both sides")
	}
}

// mostTails is the share of the noise bandwidth beyond the readings up to which
// a value is given.
const mostTails = 0.1

// noiseBandwidth adds the noise bandwidth with what the skirts may hold beyond
// the readings.
func (w *work) noiseBandwidth() {
	of := func(s passband.Shape) float64 { return s.Noise.Hz }
	captured := func(s passband.Shape) float64 { return s.Noise.Captured }
	e, least := w.r.Estimate(of, nil), w.r.Estimate(captured, captured)
	f := run.Figure{ID: "noise_bandwidth", Unit: "Hz", Details: []run.Detail{run.Number("captured", "Hz", w.r.Noise.Captured)}}
	share := w.r.Noise.Tails / w.r.Noise.Hz
	if !w.r.Edge(6).Reached() || !e.Given() || !(share <= mostTails) {
		f.Outcome = quantity.Above(w.sources.value(least.Least, 0, parts{scaled: least.Least}))
		f.Details = append(f.Details, run.Text("why", fmt.Sprintf("%s %.1f dB down; a single circuit needs 40 dB for one per cent", w.end(), w.r.Depth())))
		w.add(f)
		return
	}
	f.Outcome = w.value(e, of, parts{scaled: e.Value})
	f.Outcome.Value = f.Outcome.Value.With(quantity.Contribution{Source: w.sources.tails, C: w.r.Noise.Tails / math.Sqrt(3)})
	f.Details = append(f.Details, run.Number("beyond_the_readings", "1", share))
	if w.r.Ripple.Depth > 0 {
		f.Details = append(f.Details, run.Text("reference", "referred to the higher hump; the response dips between them"))
	}
	w.add(f)
}

// centre adds the middle of the −6 dB points against the nominal frequency.
func (w *work) centre() {
	of := func(s passband.Shape) float64 {
		if e := s.Edge(6); e.Reached() {
			return e.Middle() - w.c.nominal
		}
		return math.NaN()
	}
	e := w.r.Estimate(of, nil)
	switch {
	case math.IsNaN(w.c.nominal):
		w.note("centre offset is not given: say the nominal frequency in the option \"nominal\"%s", map[bool]string{true: ", and the offset of the BFO", false: ""}[w.c.known])
		return
	case !e.Given():
		w.note("centre offset is not given: the curve does not fall by 6 dB to both sides")
		return
	}
	p := parts{scaled: e.Value, edges: 0.5}
	if w.sources.absolute {
		p.scaled, p.offset = w.c.nominal+e.Value, 1
	}
	o := w.value(e, of, p)
	if w.c.known {
		p.scaled = e.Value - w.c.bfoHz
		o = w.value(e, of, p)
		o.Value = o.Value.With(quantity.Contribution{Source: quantity.RunSource(w.raw.RunID, "bfo").Source("offset of the BFO", 0), C: w.set.bfoOffsetU})
	}
	w.add(run.Figure{ID: "centre_offset", Unit: "Hz", Outcome: o,
		Details: []run.Detail{run.Number("nominal", "Hz", w.c.nominal)}})
}

// skew adds how far the curve leans to one side.
func (w *work) skew(down float64) {
	of := func(s passband.Shape) float64 { return s.Skew(down) }
	e := w.r.Estimate(of, nil)
	switch {
	case w.c.mirrored:
		if down == 6 {
			w.note("skew is not given: on which side of the passband the BFO stood is not said")
		}
		return
	case !e.Given():
		w.note("skew at −%g dB is not given: %s", down, w.reach(down))
		return
	}
	w.add(run.Figure{ID: "skew", Unit: "1", Outcome: w.value(e, of, parts{}),
		Conditions: map[string]string{"down_db": strconv.FormatFloat(down, 'f', -1, 64)},
		Details:    []run.Detail{run.Number("reckoned_from", "Hz", top(w.r.Shape))}})
}

// ripple adds the deepest valley within the passband; what reading errors
// could hide is the upper end of the interval of none.
func (w *work) ripple() {
	f := run.Figure{ID: "ripple", Unit: "dB"}
	if !w.r.Edge(6).Reached() {
		w.note("ripple is not given: the curve does not fall by 6 dB to both sides")
		return
	}
	if v := w.r.Ripple; v.Depth > 0 {
		f.Outcome = quantity.Known(w.sources.value(v.Depth, v.U, parts{perLevel: v.Depth}))
		f.Details = []run.Detail{run.Number("valley", "Hz", v.Hz), run.Number("lower_peak", "Hz", v.LeftHz), run.Number("upper_peak", "Hz", v.RightHz)}
		w.add(f)
		return
	}
	f.Outcome = quantity.Known(w.sources.value(0, w.r.Hidden/1.96, parts{}))
	f.Outcome.CI, f.Outcome.Level = &[2]float64{0, w.r.Hidden}, 0.95
	f.Details = []run.Detail{run.Text("humps", "one, as far as the readings tell")}
	w.add(f)
}

// notch adds the deepest notch.
func (w *work) notch() {
	if len(w.r.Notches) == 0 {
		return
	}
	v := w.r.Notches[0]
	for _, other := range w.r.Notches {
		if other.BelowTop > v.BelowTop {
			v = other
		}
	}
	n := w.r.Notch(v)
	depth := run.Figure{ID: "notch_depth", Unit: "dB", Details: []run.Detail{
		run.Number("beyond_it", "dB", n.Shoulder), run.Number("readings", "count", float64(n.Readings)), run.Number("notches", "count", float64(len(w.r.Notches)))}}
	if n.Bound {
		depth.Outcome = quantity.Above(w.sources.value(n.Depth, 0, parts{perLevel: n.Depth}))
		depth.Details = append(depth.Details, run.Text("why", "the vertex lies between readings: step closer round the deepest one"))
	} else {
		depth.Outcome = quantity.Known(w.sources.value(n.Depth, n.U, parts{perLevel: n.Depth}))
	}
	w.add(depth)
	middle := top(w.r.Shape)
	if w.c.mirrored || math.IsNaN(middle) {
		w.note("notch offset is not given: %s", map[bool]string{true: "on which side of the passband the BFO stood is not said", false: "the top of the curve is not reached on both sides"}[w.c.mirrored])
		return
	}
	offset := run.Figure{ID: "notch_offset", Unit: "Hz", Details: []run.Detail{run.Number("notch", "Hz", n.Hz)}}
	if n.Bound {
		offset.Outcome = quantity.Between(n.FromHz-middle, n.ToHz-middle)
	} else {
		offset.Outcome = quantity.Known(w.sources.value(n.Hz-middle, n.HzU, parts{scaled: n.Hz - middle, edges: 1}))
	}
	w.add(offset)
}
