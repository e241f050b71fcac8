package agc

import (
	"math"
	"strconv"

	"setwright/internal/run"
	"setwright/quantity"

	"gonum.org/v1/gonum/stat"
)

// staticFigures adds the figures of the static curve.
func (w *work) staticFigures() {
	w.budget = newBudget(w.st, w.set.stepU, w.sources)
	if len(w.sources.levels) == 0 {
		w.note("the level of the generator is taken at its word: its common error is not in the uncertainty of the knee")
	}
	w.kneeFigure()
	w.slopeFigure()
	w.spreadFigure()
	w.meritFigure()
	if by, from, to := w.st.falls(); by > math.Max(1, 4*w.st.sigma) {
		w.warn("the output falls by %s dB from %s to %s dBm: strong signals overload the set before its AGC, or the AGC overcorrects; the curve is taken as level there", short(by), short(from), short(to))
	}
}

// betweenKnees is the standard uncertainty of the knee from the course of the
// curve between levels, as a part of the gap.
const betweenKnees = 0.07

// kneeFigure adds the input where the local slope falls below 0.5 dB/dB.
func (w *work) kneeFigure() {
	w.knee, w.hasKnee = w.st.curve.knee()
	if !w.hasKnee {
		w.note("AGC knee is not given: found levels over %s dB in all, expected %s at least", short(w.st.curve.highest()-w.st.curve.lowest()), short(2*baselineDB))
		return
	}
	k := w.knee
	v, _ := w.budget.value(func(s sample) (float64, bool) {
		x, ok := s.c.knee()
		return x.at, ok && x.under == k.under && x.above == k.above
	})
	edge := quantity.New(k.at)
	for _, l := range w.sources.levels {
		edge = edge.With(quantity.Contribution{Source: l.Source, C: l.u})
	}
	f := run.Figure{ID: "agc_knee", Unit: "dBm"}
	d := []run.Detail{run.Number("emf", "V", w.set.source.emf(k.at))}
	switch {
	case k.under:
		f.Outcome = quantity.Below(edge)
		d = append(d, run.Text("why", "the curve is flatter than 0.5 dB/dB from its lowest level on"))
	case k.above:
		f.Outcome = quantity.Above(edge)
		d = append(d, run.Text("why", "the curve is nowhere flatter than 0.5 dB/dB above its steep part"))
	default:
		// A corner within a gap between levels shows in the gap's mean slope, but
		// not where; so much of the gap covers the shapes from a corner to a bend
		// as wide as the gap (by simulation, see the test of coverage).
		f.Outcome = quantity.Known(v.With(w.sources.part(w.sources.between, betweenKnees*k.baseline, 0)))
		d = append(d, run.Number("baseline", "dB", k.baseline))
	}
	f.Details = append(d, w.readingDetails()...)
	w.add(f)
}

func (w *work) readingDetails() []run.Detail {
	return []run.Detail{run.Number("readings", "count", float64(len(w.st.readings))), run.Number("reading_u", "dB", w.st.sigma), run.Text("reading_u_from", w.st.sigmaBy)}
}

// aboveKneeDB is how far above the knee the slope begins by default.
const aboveKneeDB = 10

// slopeRange is the input range of the slope.
func (w *work) slopeRange() (from, to float64, ok bool) {
	if !math.IsNaN(w.set.slopeFrom) {
		return w.set.slopeFrom, w.set.slopeTo, true
	}
	if !w.hasKnee || w.knee.above {
		return 0, 0, false
	}
	from = w.knee.at + aboveKneeDB
	if w.knee.under {
		from = w.st.curve.lowest()
	}
	return from, w.st.curve.highest(), true
}

// slopeFigure adds the slope above the knee.
func (w *work) slopeFigure() {
	from, to, ok := w.slopeRange()
	if !ok {
		w.note("AGC slope is not given: no knee was found within the levels")
		return
	}
	x, _ := within(w.budget.best, from, to)
	if levels := len(groups(x, x)); levels < 2 || x[len(x)-1]-x[0] < 9.9 {
		w.note("AGC slope is not given: found %s between %s and %s dBm, expected two at least, 10 dB apart", plural(levels, "level", "levels"), short(from), short(to))
		return
	}
	// a reading moved by its level's error must not leave the range
	v, ok := w.budget.value(func(s sample) (float64, bool) { return lineSlope(s, w.budget.best.x, from, to) })
	if !ok {
		return
	}
	d := []run.Detail{run.Number("from", "dBm", x[0]), run.Number("to", "dBm", x[len(x)-1]), run.Number("readings", "count", float64(len(x)))}
	if v.Estimate() > 0 {
		d = detail(d, "input_per_output", "dB/dB", 1/v.Estimate())
	}
	w.add(run.Figure{ID: "agc_slope", Unit: "dB/dB", Outcome: quantity.Known(v), Details: d})
}

// within is the part of a sample in a range of input.
func within(s sample, from, to float64) (x, y []float64) {
	for i := range s.x {
		if s.x[i] >= from-0.05 && s.x[i] <= to+0.05 {
			x, y = append(x, s.x[i]), append(y, s.y[i])
		}
	}
	return x, y
}

// lineSlope is the slope of a straight line through the readings whose nominal
// levels lie in the range.
func lineSlope(s sample, nominal []float64, from, to float64) (float64, bool) {
	var x, y []float64
	for i := range s.x {
		if nominal[i] >= from-0.05 && nominal[i] <= to+0.05 {
			x, y = append(x, s.x[i]), append(y, s.y[i])
		}
	}
	if len(x) < 2 {
		return 0, false
	}
	_, b := stat.LinearRegression(x, y, nil, false)
	return b, !math.IsNaN(b)
}

// spreadFigure adds the change of output over the stated range. Where the
// readings do not reach an end the output can only change further: a bound.
func (w *work) spreadFigure() {
	c := w.st.curve
	from, to := w.set.spreadFrom, w.set.spreadTo
	lo, hi := math.Max(from, c.lowest()), math.Min(to, c.highest())
	if hi-lo < (to-from)/2 {
		w.note("AGC spread is not given: the levels cover %s dB of the range from %s to %s dBm, less than half", short(math.Max(0, hi-lo)), short(from), short(to))
		return
	}
	v, _ := w.budget.value(func(s sample) (float64, bool) { return s.c.at(hi) - s.c.at(lo), true })
	v = v.With(w.sources.part(w.sources.between, math.Hypot(c.heightU(lo), c.heightU(hi)), 0))
	f := run.Figure{ID: "agc_spread", Unit: "dB", Outcome: quantity.Known(v),
		Conditions: map[string]string{"from_dbm": plain(from), "to_dbm": plain(to)},
		Details:    []run.Detail{run.Number("from", "dBm", lo), run.Number("to", "dBm", hi)}}
	if lo > from+0.5 || hi < to-0.5 {
		f.Outcome = quantity.Above(v)
		f.Details = append(f.Details, run.Text("why", "the levels reach from "+short(lo)+" to "+short(hi)+" dBm only; over the rest the output can only change further"))
	}
	w.add(f)
}

// meritFigure adds how far the input falls from the reference for the output to
// fall 10 dB: from the output at the reference down in input to the first
// crossing.
func (w *work) meritFigure() {
	c := w.st.curve
	ref := w.set.source.ofEMF(w.set.referenceV)
	stated := plain(w.set.referenceV)
	if ref > c.highest()+0.5 {
		ref = c.highest()
		stated = strconv.FormatFloat(w.set.source.emf(ref), 'g', 3, 64)
		w.note("the figure of merit is taken from %s dBm (%s of EMF), the highest level reached, not from %s", short(ref), quantity.Printer{}.Told(w.set.source.emf(ref), "V", 3), quantity.FormatNumber(w.set.referenceV, "V"))
	}
	if ref < c.lowest() {
		w.note("AGC figure of merit is not given: its reference of %s dBm lies below all levels", short(ref))
		return
	}
	f := run.Figure{ID: "agc_merit", Unit: "dB", Conditions: map[string]string{"reference_v": stated, "drop_db": plain(w.set.dropDB)},
		Details: []run.Detail{run.Number("reference", "dBm", ref)}}
	v, ok := w.budget.value(func(s sample) (float64, bool) {
		x, ok := s.c.below(s.c.at(ref) - w.set.dropDB)
		return ref - x, ok
	})
	if ok {
		at := ref - v.Estimate()
		f.Outcome = quantity.Known(v.With(w.sources.part(w.sources.between, math.Hypot(c.crossingU(at, c.at(at)), c.heightU(ref)), 0)))
		f.Details = append(f.Details, run.Number("falls_to", "dBm", ref-v.Estimate()))
	} else {
		f.Outcome = quantity.Above(quantity.Exact(ref - c.lowest()))
		f.Details = append(f.Details, run.Text("why", "the output falls by "+short(c.at(ref)-c.y[0])+" dB only, down to the lowest level"))
	}
	w.add(f)
}
