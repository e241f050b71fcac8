package chart

import (
	"html/template"
	"strings"

	"setwright/internal/measure"
)

// Inline returns a plot drawn twice, wide and narrow, for a page whose style
// sheet holds [Stylesheet] and shows the one that fits. id must be unique on
// the page; characters other than letters, digits, "-" and "_" are replaced.
func Inline(p measure.Plot, id string) template.HTML {
	id = cleanID(id)
	// The SVG writer escapes every text; nothing of the plot enters unescaped.
	return template.HTML(inlineSVG(Layout(p, Wide), id+"-w", "wide") +
		inlineSVG(Layout(p, Narrow), id+"-n", "narrow"))
}

func cleanID(id string) string {
	clean := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return '-'
	}, id)
	if clean == "" || clean[0] >= '0' && clean[0] <= '9' || clean[0] == '-' {
		return "chart-" + clean
	}
	return clean
}
