package demo

import (
	"fmt"
	"math"
	"strings"
	"time"

	"setwright/internal/workshop"
	"setwright/quantity"
)

// evenings measures both sets by what a sound input hears.
func (t teller) evenings() {
	t.head("April: three evenings with a sound input")
	t.now = day(time.April, 2)
	t.instrument(generator)
	input := t.calibrate()
	t.say(fmt.Sprintf(`Now the sets are heard, not counted: noise, tones and a carrier stepped by a pad, all
		computed, kept as sound files, and measured as anybody's recordings would be. First a known tone makes an
		instrument of the sound input: it samples %s too fast, and a sine of %s fills it.`,
		uncertain(1e6*input.RateError, 1e6*input.RateErrorU, "ppm"), uncertain(input.FullScaleV, input.FullScaleV*input.FullScaleRelativeU, "V")))
	turnstone := &heardSet{state: "turnstone/pair-fitted-can-off", name: "turnstone", hearing: turnstoneHeard,
		levels: [4]float64{-112, -108, -104, -100}, runs: map[string]string{}}
	whimbrel := &heardSet{state: "whimbrel/regulator-in", name: "whimbrel", hearing: whimbrelHeard,
		levels: [4]float64{-106, -102, -98, -94}, runs: map[string]string{}}
	t.now = day(time.April, 3)
	t.beatNote(turnstone)
	for evening := range 3 {
		for i, set := range []*heardSet{turnstone, whimbrel} {
			t.now = day(time.April, 3+evening).Add(time.Duration(11+i) * time.Hour)
			if evening == 0 {
				t.selectivity(set)
				t.gainControl(set)
				t.fidelity(set)
			}
			t.sensitivity(set, uint64(1+evening))
		}
	}
	t.table(turnstone, whimbrel)
	t.say(`A beat note recorded from the moment of power-on is a drift run as well, through zero
		beat and out on the other side:`)
	t.result(turnstone.runs["drift"])
	t.moreSensitive(turnstone, whimbrel)
}

// table prints what was found of both sets, each figure with its uncertainty.
func (t teller) table(a, b *heardSet) {
	row := func(title, x, y string) { fmt.Fprintf(t.w, "    %-34s%-22s%s\n", title, x, y) }
	if t.err == nil {
		row("", "Turnstone", "Whimbrel")
	}
	for _, f := range []struct{ measurement, id string }{
		{"selectivity", "bandwidth_6"}, {"selectivity", "noise_bandwidth"}, {"sensitivity", "sensitivity_am"}, {"sensitivity", "noise_figure"},
		{"agc", "agc_attack"}, {"agc", "agc_recovery"}, {"audio", "thd"}, {"audio", "hum"},
	} {
		x, y := t.figure(a, f.measurement, f.id), t.figure(b, f.measurement, f.id)
		if t.err != nil {
			return
		}
		spec, _, _ := t.shop.Registry.Figure(f.id)
		row(spec.Title, quantity.Format(x.Value, x.Unit), quantity.Format(y.Value, y.Unit))
	}
}

// moreSensitive compares the sets on their noise, and says what became of the
// errors that both share.
func (t teller) moreSensitive(a, b *heardSet) {
	t.head("Which of the two hears more?")
	if t.err != nil {
		return
	}
	c, err := t.shop.Compare(t.ctx, a.state, b.state, workshop.CompareOptions{Measurement: "sensitivity", Figures: []string{"noise_figure"}})
	t.must(err)
	for _, f := range c.Fairness.Findings {
		t.shown("First: " + f.Text)
	}
	t.shown(c.Sentences...)
	for _, row := range c.Rows {
		var gone []string
		for _, e := range row.Verdict.Shared {
			if e.Cancelled() {
				gone = append(gone, fmt.Sprintf("%s, %s", e.Name, told(math.Abs(e.A), row.Spec.Unit)))
			}
		}
		v := row.Verdict
		t.say(fmt.Sprintf(`One generator and one sound input measured both. Each %s is known no better than to ±%s,
			but what errs alike in both cancels (%s), and the difference is known to ±%s. The level calibration of the
			sound input is in neither: each level was set against another that came through it.`,
			row.Spec.Title, told(math.Max(v.A.U(), v.B.U()), row.Spec.Unit), strings.Join(gone, "; "), told(v.Difference.U(), row.Spec.Unit)))
	}
}

// uncertain is a number with its standard uncertainty.
func uncertain(x, u float64, unit string) string {
	return quantity.Format(quantity.New(x, quantity.Contribution{Source: quantity.Source{ID: "calibration"}, C: u}), unit)
}

// told is a number with its unit, to two digits.
func told(x float64, unit string) string { return quantity.Printer{}.Told(x, unit, 2) }
