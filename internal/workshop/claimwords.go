package workshop

import (
	"fmt"
	"sort"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/judge"
	"setwright/quantity"
)

// ClaimWords puts a claim in plain words: "settling time to ±100 Hz shorter by a
// third".
func ClaimWords(c receiver.Claim, spec measure.FigureSpec) string {
	what, direction := FigureTitle(spec, c.Conditions), judge.Direction(c.Direction).Said(spec.Unit)
	switch {
	case c.Direction == receiver.Unchanged:
		return what + " unchanged"
	case c.Amount == 0:
		return fmt.Sprintf("%s %s", what, direction)
	case c.Relative:
		return fmt.Sprintf("%s %s by %s", what, direction, printer.Fraction(c.Amount))
	}
	return fmt.Sprintf("%s %s by %s", what, direction, printer.Format(quantity.Exact(c.Amount), spec.Unit))
}

// FigureTitle names a figure for people, with the conditions that make it its
// own: "settling time to ±100 Hz".
func FigureTitle(spec measure.FigureSpec, conditions map[string]string) string {
	var parts []string
	for _, by := range spec.By {
		if v := conditions[by]; v != "" {
			parts = append(parts, conditionWords(by, v))
		}
	}
	if len(parts) == 0 {
		return spec.Title
	}
	return spec.Title + " " + strings.ReplaceAll(strings.Join(parts, ", "), ", to −", " to −") // "from −107 dBm to −27 dBm"
}

// conditionForms are how the conditions of some figures are said.
var conditionForms = map[string]string{
	"band_hz": "to ±%s Hz", "step_db": "after a step of %s dB", "criterion_db": "to within %s dB", "down_db": "at −%s dB",
	"from_dbm": "from %s dBm", "to_dbm": "to %s dBm", "reference_v": "from %s V", "drop_db": "for %s dB less", "rate_hz": "at %s Hz",
	"load_ohm": "into %s Ω", "thd_pct": "at %s %% distortion",
	"tone_hz": "at %s Hz", "modulation_pct": "%s %% modulated", "input_dbm": "input %s dBm", "output_v": "output %s V",
}

// conditionWords prints one condition: the unit at the end of its name becomes
// the unit of the number.
func conditionWords(name, value string) string {
	if form, ok := conditionForms[name]; ok {
		return fmt.Sprintf(form, strings.Replace(value, "-", "−", 1))
	}
	switch {
	case name == "taken" && value == "bare carrier":
		return "with a bare carrier"
	case strings.HasSuffix(name, "_hz"):
		return strings.TrimSuffix(name, "_hz") + " " + value + " Hz"
	case strings.HasSuffix(name, "_s"):
		return "at " + strings.TrimSuffix(name, "_s") + " " + value + " s"
	}
	if text, ok := withUnit(name, value); ok {
		return text
	}
	return value
}

// conditionUnits are the units that names of conditions end in.
var conditionUnits = map[string]string{"pct": "%", "dbm": "dBm", "db": "dB", "ohm": "Ω", "v": "V"}

// withUnit writes a condition whose name ends in its unit: "input −47 dBm".
func withUnit(name, value string) (string, bool) {
	what, end, _ := strings.Cut(name, "_")
	unit, ok := conditionUnits[end]
	return what + " " + strings.Replace(value, "-", "−", 1) + " " + unit, ok
}

// exampleCondition shows how a condition is written on the command line.
func exampleCondition(name string) string {
	if name == "band_hz" {
		return "band_hz=100"
	}
	return name + "=1"
}

// judgedFigures lists the ids of the figures that have a better and a worse.
func (s *Shop) judgedFigures() []string {
	var ids []string
	for _, id := range s.Registry.IDs() {
		m, err := s.Registry.Get(id)
		if err != nil {
			continue
		}
		for _, f := range m.About().Figures {
			if f.Better != "" {
				ids = append(ids, f.ID)
			}
		}
	}
	sort.Strings(ids)
	return ids
}
