package sensitivity

import (
	"math"

	"setwright/internal/run"
	"setwright/quantity"
)

// enoughRise is the rise of noise on the antenna from which more sensitivity is
// worth nothing, in dB.
const enoughRise = 10.0

// unrepeatedU is one standard uncertainty in dB of how noise on an antenna
// repeats from one minute to the next, where fewer than fewPairs pairs show it (a
// judgement; no source).
const (
	unrepeatedU = 0.5
	fewPairs    = 3
)

// pair is the noise on the antenna and on the dummy, in dB.
type pair struct {
	rise, u float64
}

// antenna adds the rise of noise on the antenna.
func (w *work) antenna(heard []pair) error {
	pairs := append([]pair(nil), heard...)
	on := w.raw.Series.Column("output_antenna")
	for i := range lengthOf(on) {
		a, ua, err := w.output("output_antenna", i)
		if err != nil {
			return err
		}
		d, ud, err := w.output("output_dummy", i)
		if err != nil {
			return err
		}
		if !math.IsNaN(a) && !math.IsNaN(d) {
			pairs = append(pairs, pair{rise: a - d, u: math.Hypot(ua, ud)})
		}
	}
	if len(pairs) == 0 {
		return nil
	}
	v, scatter := meanRise(pairs)
	if len(pairs) < fewPairs {
		w.note("the noise was compared on antenna and dummy %s: how it repeats is not shown, and %s is taken for it; three times in turn would show it", times(len(pairs)), told(unrepeatedU, "dB"))
	}
	if v.U() < scatter.u {
		v = quantity.New(v.Estimate(), quantity.Contribution{Source: withDoF(w.sources.readings, scatter.dof), C: scatter.u})
	} else {
		v = quantity.New(v.Estimate(), quantity.Contribution{Source: w.sources.readings, C: v.U()})
	}
	if len(pairs) < fewPairs {
		v = v.With(quantity.Contribution{Source: w.sources.repeat, C: unrepeatedU})
	}
	f := run.Figure{ID: "antenna_noise_rise", Unit: "dB", Outcome: quantity.Known(v), Details: []run.Detail{
		run.Number("pairs", "count", float64(len(pairs)))}}
	if why := enough(v); why != "" {
		f.Details = append(f.Details, run.Text("why", why))
	}
	w.add(f, nil)
	if agc := w.raw.Options["agc"]; agc != "off" {
		w.note("the noise rise on the antenna holds with AGC off; the run does not say it was: a working AGC makes it too small")
	}
	w.note("the noise rise is that of this antenna, place and hour; the dummy stands for an antenna that brings no noise of its own beyond that of room temperature")
	return nil
}

// times is how often, in words.
func times(n int) string {
	if n == 1 {
		return "once"
	}
	return "twice"
}

func lengthOf(c *run.Column) int {
	if c == nil {
		return 0
	}
	return len(c.Values)
}

// spread is a standard uncertainty with its degrees of freedom.
type spread struct{ u, dof float64 }

// meanRise is the mean of the pairs with the uncertainty of their readings, and
// that of their scatter.
func meanRise(pairs []pair) (quantity.Value, spread) {
	n := float64(len(pairs))
	var sum, u2 float64
	for _, p := range pairs {
		sum, u2 = sum+p.rise, u2+p.u*p.u
	}
	mean := sum / n
	v := quantity.New(mean, quantity.Contribution{C: math.Sqrt(u2) / n})
	if n < 2 {
		return v, spread{}
	}
	var ss float64
	for _, p := range pairs {
		ss += (p.rise - mean) * (p.rise - mean)
	}
	return v, spread{math.Sqrt(ss / (n - 1) / n), n - 1}
}

// enough says what a rise of noise means, where its interval is clear.
func enough(v quantity.Value) string {
	lo, hi := v.Interval(0.95)
	switch {
	case lo >= enoughRise:
		return "10 dB or more: more sensitivity is worth nothing there"
	case hi < 3:
		return "less than 3 dB: the set's own noise is as strong as what the antenna brings, or stronger"
	}
	return ""
}
