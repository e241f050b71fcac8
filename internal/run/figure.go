package run

import (
	"sort"
	"strings"

	"setwright/quantity"
)

// Figure is a result computed by one named method in one version, with the
// conditions it holds under. Its Outcome is a value with uncertainty, an
// interval, a bound, a count or a choice.
type Figure struct {
	ID string
	quantity.Outcome
	Unit       string
	Conditions map[string]string
	Method     string // "stability/3"
	Details    []Detail
}

// Detail is one thing a figure is made of or lists: a jump with time and size,
// a noise type, a reading set aside. Parts nests details of a detail.
type Detail struct {
	ID    string   `json:"id"`
	Unit  string   `json:"unit,omitempty"`
	Value *float64 `json:"value,omitempty"`
	U     *float64 `json:"u,omitempty"`
	Text  string   `json:"text,omitempty"`
	Parts []Detail `json:"parts,omitempty"`
}

// Number returns a detail holding a number.
func Number(id, unit string, v float64) Detail { return Detail{ID: id, Unit: unit, Value: &v} }

// Text returns a detail holding words.
func Text(id, text string) Detail { return Detail{ID: id, Text: text} }

// Key names the figure with the conditions that make it a different figure:
// "settling_time[band_hz=100]". Only the condition names listed in by take
// part; they are sorted.
func (f Figure) Key(by ...string) string {
	var parts []string
	for _, name := range by {
		if v, ok := f.Conditions[name]; ok {
			parts = append(parts, name+"="+v)
		}
	}
	if len(parts) == 0 {
		return f.ID
	}
	sort.Strings(parts)
	return f.ID + "[" + strings.Join(parts, ",") + "]"
}
