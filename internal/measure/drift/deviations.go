package drift

import (
	"context"
	"math"

	"setwright/internal/run"
	"setwright/quantity"
	"setwright/stability"
)

// deviations adds the Allan family of the settled part.
func (w *work) deviations(ctx context.Context) {
	t, y, ok := w.settledPart()
	if !ok || ctx.Err() != nil {
		return
	}
	inHertz := w.beatNote()
	phase, err := stability.FromReadings(t, y)
	if err != nil {
		w.note("Allan deviation is not given: %v", err)
		return
	}
	for _, kind := range w.set.kinds {
		if inHertz && timeKind(kind) {
			w.note("time deviation is not given: a beat note without a nominal frequency has no fractional frequency")
			continue
		}
		points, err := stability.Deviations(kind, phase)
		if err != nil {
			w.note("Allan deviation (%s) is not given: %v", kind, err)
			continue
		}
		for _, p := range points {
			w.deviation(p)
		}
	}
}

// beatNote says whether the record is a beat note without a nominal frequency:
// it has no fractional frequency, and its deviations are in hertz.
func (w *work) beatNote() bool {
	return (w.beat != nil || w.set.oscillator == "set") && math.IsNaN(w.set.nominalHz)
}

func timeKind(k stability.Kind) bool {
	return k == stability.KindTime || k == stability.KindTimeTotal
}

// settledPart returns the raw readings after settling as fractional frequency, or
// for a beat note without a nominal in hertz from their mean.
func (w *work) settledPart() (t, y []float64, ok bool) {
	from := w.a.Wander.FromS
	if !w.a.Wander.Given() {
		w.note("Allan deviation is not given: it is of the settled part, and %s", w.a.Wander.Reason)
		return nil, nil, false
	}
	nominal, divisor := w.set.nominalHz, w.set.nominalHz
	switch {
	case w.beatNote():
		nominal, divisor = mean(w.a.FrequencyHz), 1
		w.note("a beat note without a nominal frequency has no fractional frequency: its deviations are in hertz")
	case math.IsNaN(nominal):
		nominal = mean(w.a.FrequencyHz)
		divisor = nominal
		w.note("fractional figures are divided by the mean of the record, %s", quantity.FormatNumber(math.Round(nominal), "Hz"))
	}
	for i, at := range w.a.TimeS {
		if at >= from {
			t = append(t, at)
			y = append(y, (w.a.FrequencyHz[i]-nominal)/divisor)
		}
	}
	return t, y, true
}

// deviation adds one point. Its standard uncertainty is half the interval's
// width on the coverage factor of a normal distribution; the interval itself is
// uneven and stands beside it.
func (w *work) deviation(p stability.Deviation) {
	u := p.Value / math.Sqrt(2*p.EDF)
	o := quantity.Known(w.sources.noisy(p.Value, u, p.EDF))
	o.CI, o.Level = &[2]float64{p.Lo, p.Hi}, p.Level
	id, unit := "allan_deviation", "1"
	conditions := map[string]string{"kind": p.Kind.String(), "tau_s": plain(p.TauS)}
	switch {
	case timeKind(p.Kind):
		id, unit = "time_deviation", "s"
	case w.beatNote():
		unit = "Hz"
	}
	w.add(run.Figure{ID: id, Unit: unit, Outcome: o, Details: []run.Detail{
		run.Text("noise", p.Noise.String()), run.Text("noise_by", string(p.NoiseBy)),
		run.Number("edf", "1", p.EDF), run.Number("terms", "count", float64(p.N)),
	}}, conditions)
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v - x[0]
	}
	return x[0] + sum/float64(len(x))
}
