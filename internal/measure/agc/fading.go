package agc

import (
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/internal/measure/pool"
	"setwright/internal/measure/settings"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// faded is one recording of a slowly modulated carrier.
type faded struct {
	rate, inputDB float64
	outputDB, u   float64
}

// swings adds what one recording shows to those of its rate.
func (w *work) swings(f followed, byRate map[float64][]faded) {
	x, err := w.faded(f)
	if err != nil {
		w.note("%s is not used: %v", name(f.rec), err)
		return
	}
	byRate[x.rate] = append(byRate[x.rate], x)
	w.out.Stretches = append(w.out.Stretches, measure.Stretch{Recording: f.index, FromS: f.env.TimeS[0], ToS: f.env.TimeS[len(f.env.TimeS)-1],
		Label: "fading at " + plain(x.rate) + " Hz", Figures: []string{"pumping"}})
}

// fading adds the pumping at each rate.
func (w *work) fading(byRate map[float64][]faded) {
	var rates []float64
	for r := range byRate {
		rates = append(rates, r)
	}
	sort.Float64s(rates)
	for _, r := range rates {
		w.pumpingFigure(r, byRate[r])
	}
}

// faded measures the swing of the output and reads that of the input.
func (w *work) faded(f followed) (faded, error) {
	spec := recordings[2]
	rate, err := settings.Label(f.rec, spec, "rate")
	if err != nil {
		return faded{}, err
	}
	input, err := inputSwing(f.rec, spec)
	if err != nil {
		return faded{}, err
	}
	if math.IsNaN(rate) || rate <= 0 {
		return faded{}, errorf("found no rate of the fading written on it, expected one such as 1 Hz")
	}
	const leastPeriods = 5
	span := f.env.TimeS[len(f.env.TimeS)-1] - f.env.TimeS[0]
	if span*rate < leastPeriods {
		return faded{}, errorf("found %s s, expected %d swings at least of %s Hz", short(span), leastPeriods, plain(rate))
	}
	if rate*f.env.WindowS > 0.35 {
		return faded{}, errorf("found a rate of %s Hz, expected a slow fading, up to %s Hz", plain(rate), short(0.35/f.env.WindowS))
	}
	swing, u := signal.ToneDepth(f.env, trueRate(f.env, rate, span))
	return faded{rate, input, swing, u}, nil
}

// inputSwing is the peak-to-peak swing of the input in dB: as written, or of a
// modulation m, 20 lg((1 + m)/(1 − m)).
func inputSwing(rec measure.Recording, spec measure.RecordingSpec) (float64, error) {
	depth, err := settings.Label(rec, spec, "depth")
	if err != nil {
		return 0, err
	}
	if depth > 0 {
		return depth, nil
	}
	m, err := settings.Label(rec, spec, "modulation")
	if err != nil {
		return 0, err
	}
	m /= 100
	if !(m > 0 && m < 1) {
		return 0, errorf("found neither a swing in dB nor a modulation between 0 and 100 %% written on it, expected one")
	}
	return 20 * math.Log10((1+m)/(1-m)), nil
}

// trueRate is the rate near the nominal one at which the envelope swings most:
// nobody's slow generator is set to a part in a hundred.
func trueRate(env *signal.LevelTrack, nominal, span float64) float64 {
	best, at := 0.0, nominal
	step := 1 / (8 * span)
	reach := math.Min(0.03*nominal, 40*step)
	for d := 0.0; d <= reach; d += step {
		for _, hz := range []float64{nominal + d, nominal - d} {
			if swing, _ := signal.ToneDepth(env, hz); swing > best*1.001 {
				best, at = swing, hz
			}
		}
	}
	return at
}

// pumpingFigure adds the pumping at one rate; where the swing does not stand out
// of the noise, a bound.
func (w *work) pumpingFigure(rate float64, all []faded) {
	var known []pool.Observed
	clear := false
	for _, x := range all {
		known = append(known, pool.Observed{X: x.outputDB / x.inputDB, U: x.u / x.inputDB})
		clear = clear || x.outputDB > 2*x.u
	}
	v := w.pooledValue(known)
	v = v.With(w.sources.part(w.sources.swing, v.Estimate()*w.set.swingU/100, 0))
	f := run.Figure{ID: "pumping", Unit: "dB/dB", Outcome: quantity.Known(v), Conditions: map[string]string{"rate_hz": plain(rate)},
		Details: []run.Detail{run.Number("input_swing", "dB", all[0].inputDB), run.Number("output_swing", "dB", all[0].outputDB), run.Number("recordings", "count", float64(len(all)))}}
	if !clear {
		_, hi := v.Interval(0.95)
		f.Outcome = quantity.Below(quantity.Exact(hi))
		f.Details = append(f.Details, run.Text("why", "the swing of the output does not stand out of its noise"))
	}
	w.add(f)
}
