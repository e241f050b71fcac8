package agc

import (
	"fmt"
	"math"
	"strings"

	"setwright/internal/measure"
)

func errorf(format string, args ...any) error { return fmt.Errorf(format, args...) }

// dynamicSentences says how it moves.
func (w *work) dynamicSentences() []string {
	var out []string
	if s := w.timesSentence(); s != "" {
		out = append(out, s)
	}
	if f := w.figure("agc_between_characters", "", ""); f != nil {
		out = append(out, fmt.Sprintf("Between characters the noise comes up by %s within half a second.", words(*f)))
	}
	var parts []string
	for _, f := range w.out.Figures {
		if f.ID == "pumping" {
			parts = append(parts, fmt.Sprintf("%s at %s Hz", words(f), f.Conditions["rate_hz"]))
		}
	}
	if len(parts) > 0 {
		out = append(out, "Of a slow fading the output keeps "+strings.Join(parts, ", ")+".")
	}
	return out
}

func (w *work) timesSentence() string {
	attack, recovery := w.figure("agc_attack", "", ""), w.figure("agc_recovery", "", "")
	var parts []string
	if attack != nil {
		parts = append(parts, "settles after a step up in "+words(*attack))
	}
	if recovery != nil {
		parts = append(parts, "recovers from a step down in "+words(*recovery))
	}
	if len(parts) == 0 {
		return ""
	}
	c := attack
	if c == nil {
		c = recovery
	}
	return fmt.Sprintf("The output %s (steps of %s dB, to within %s dB).", strings.Join(parts, " and "), c.Conditions["step_db"], c.Conditions["criterion_db"])
}

// mostPoints is how many points of an envelope are drawn of one step.
const mostPoints = 300

// stepPlot draws the level after every step, each from its own final level.
func (w *work) stepPlot(id, title string, size float64, all []settling) {
	if len(all) == 0 {
		return
	}
	p := measure.Plot{
		ID: id + "_" + plain(size), Title: fmt.Sprintf("%s of %s dB", title, plain(size)),
		Caption: fmt.Sprintf("Audio level (moving rms over %g ms) of %s, each from its fitted final level; the band is the criterion.", 1e3*all[0].f.env.WindowS, plural(len(all), "step", "steps")),
		Alt:     "Audio level in decibels against time since the step",
		X:       measure.Axis{Label: "time since the step", Unit: "s"},
		Y:       measure.Axis{Label: "level from final", Unit: "dB"},
		Spans:   []measure.Span{{Axis: "y", From: -w.set.criterionDB, To: w.set.criterionDB, Label: "±" + plain(w.set.criterionDB) + " dB"}},
	}
	longest := 0.0
	for _, s := range all {
		longest = math.Max(longest, 4*s.r.Seconds)
	}
	for i, s := range all {
		l := measure.Layer{Kind: measure.LayerLine}
		if i == 0 {
			l.Label = "level"
		}
		l.X, l.Y = s.drawn(math.Max(longest, 20*s.f.env.WindowS))
		p.Layers = append(p.Layers, l)
	}
	for _, f := range w.out.Figures {
		if f.ID == "agc_"+id && f.Conditions["step_db"] == plain(size) {
			p.Marks = append(p.Marks, measure.Mark{X: f.Value.Estimate(), Label: words(f)})
		}
	}
	w.out.Plots = append(w.out.Plots, p)
}

// drawn is the level round a step, thinned.
func (s settling) drawn(longest float64) (x, y []float64) {
	var t, l []float64
	env := s.f.env.Between(s.event.TimeS-0.1*longest, math.Min(s.event.TimeS+longest, s.toS))
	for i, at := range env.TimeS {
		if p := env.Power[i]; p > 0 {
			t, l = append(t, at-s.event.TimeS), append(l, 10*math.Log10(2*p)-s.r.FinalDB)
		}
	}
	every := max(1, len(t)/mostPoints)
	for i := 0; i < len(t); i += every {
		x, y = append(x, t[i]), append(y, l[i])
	}
	return x, y
}
