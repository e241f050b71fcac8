package chart

import (
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
	var marked []string
	for _, m := range p.Marks {
		if m.Label != "" {
			marked = append(marked, m.Label)
		}
	}
	if len(marked) > 0 {
		add("Marked: " + strings.Join(marked, "; "))
	}
	return strings.Join(out, " ")
}
