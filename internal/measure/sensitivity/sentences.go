package sensitivity

import (
	"fmt"

	"setwright/internal/run"
	"setwright/quantity"
)

// sentences says the result in plain sentences, the main figure first.
func (w *work) sentences() []string {
	var out []string
	for _, t := range targets(w.set.mode) {
		if f := w.figure(t.id); f != nil {
			out = append(out, w.levelSentence(t, *f))
		}
	}
	if f := w.figure("antenna_noise_rise"); f != nil {
		out = append(out, antennaSentence(*f))
	}
	if f := w.figure("noise_bandwidth"); f != nil && len(out) == 0 {
		out = append(out, "The noise bandwidth is "+quantity.FormatOutcome(f.Outcome, f.Unit)+".")
	}
	if f := w.figure("external_noise"); f != nil && len(out) == 0 {
		out = append(out, "From outside "+quantity.FormatOutcome(f.Outcome, f.Unit)+" above the noise of a resistance are to be expected.")
	}
	return out
}

// levelSentence says one level.
func (w *work) levelSentence(t target, f run.Figure) string {
	what := map[string]string{
		"sensitivity_am":    "10 dB of signal and noise over noise, carrier modulated 30 %,",
		"sensitivity_cw":    "10 dB of signal and noise over noise, BFO on,",
		"mds":               "3 dB over noise, the least signal to be made out,",
		"sensitivity_sinad": "12 dB SINAD",
	}[t.id]
	where := "EMF"
	if w.set.dummy.ID != "none" {
		where = "EMF behind the dummy antenna"
	}
	o := f.Outcome
	if o.Kind == quantity.KindValue {
		o.CI = nil // a sentence has room for one uncertainty
	}
	text := fmt.Sprintf("For %s it needs %s %s", what, quantity.FormatOutcome(o, "V"), where)
	if dbm, ok := detail(f, "available_power"); ok && f.Kind == quantity.KindValue {
		text += fmt.Sprintf(" (%s available)", told(dbm, "dBm"))
	}
	return text + "."
}

// antennaSentence says what the noise on the antenna means.
func antennaSentence(f run.Figure) string {
	rise := quantity.FormatOutcome(f.Outcome, f.Unit)
	lo, hi := f.Value.Interval(0.95)
	switch {
	case lo >= enoughRise:
		return fmt.Sprintf("On the antenna the noise rises by %s: more sensitivity is worth nothing there.", rise)
	case hi < enoughRise:
		return fmt.Sprintf("On the antenna the noise rises by %s only: a more sensitive set, or a better antenna, would hear more there.", rise)
	}
	return fmt.Sprintf("On the antenna the noise rises by %s: whether more sensitivity is worth anything there cannot be told yet; read a few pairs more.", rise)
}
