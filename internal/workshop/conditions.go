package workshop

import (
	"sort"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// SharedConditions lists the conditions that all figures have in common, in
// words: "horizon 2 h", "oscillator local".
func SharedConditions(figures []run.Figure) []string {
	if len(figures) == 0 {
		return nil
	}
	var out []string
	for name, value := range figures[0].Conditions {
		common := true
		for _, f := range figures {
			common = common && f.Conditions[name] == value
		}
		if common {
			out = append(out, ConditionText(name, value))
		}
	}
	sort.Strings(out)
	return out
}

// ConditionText writes a condition for a reader: the unit at the end of its
// name becomes that of the number.
func ConditionText(name, value string) string {
	for suffix, unit := range map[string]string{"_s": "s", "_hz": "Hz"} {
		base, ok := strings.CutSuffix(name, suffix)
		if !ok {
			continue
		}
		if x, err := measure.ParseNumber(value, unit); err == nil {
			return strings.ReplaceAll(base, "_", " ") + " " + quantity.FormatNumber(x, unit)
		}
	}
	return strings.ReplaceAll(name, "_", " ") + " " + value
}
