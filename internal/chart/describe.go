package chart

import (
	"slices"
	"strings"

	"setwright/internal/measure"
)

// describe says in words what a picture shows, for those who cannot see it:
// the plot's own words, then the labels that stand in the picture.
func describe(p measure.Plot) string {
	out := []string{}
	add := func(s string) {
		if s = strings.TrimSpace(s); s == "" {
			return
		}
		if !strings.HasSuffix(s, ".") {
			s += "."
		}
		out = append(out, s)
	}
	add(p.Alt)
	if p.Alt == "" {
		add(p.Caption)
	}
	var curves, marked []string
	for _, l := range p.Layers {
		curves = append(curves, l.Label)
	}
	for _, m := range p.Marks {
		marked = append(marked, m.Label)
	}
	add(listed("Shown: ", curves))
	add(listed("Marked: ", marked))
	return strings.Join(out, " ")
}

// listed lists the words that are there, each once; nothing where none is.
func listed(intro string, words []string) string {
	var out []string
	for _, w := range words {
		if w != "" && !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	if out == nil {
		return ""
	}
	return intro + strings.Join(out, "; ")
}
