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
	return pair(Layout(p, Wide), Layout(p, Narrow), id)
}

// InlineLow is [Inline] for second pictures: less high.
func InlineLow(p measure.Plot, id string) template.HTML {
	return pair(Layout(p, Low), Layout(p, LowNarrow), id)
}

// InlineTimeline is [Inline] for a timeline.
func InlineTimeline(tl Timeline, id string) template.HTML {
	return pair(LayoutTimeline(tl, Wide), LayoutTimeline(tl, Narrow), id)
}

// pair writes both drawings of a picture. The SVG writer escapes every text,
// so that nothing of a plot enters the page unescaped.
func pair(wide, narrow *Picture, id string) template.HTML {
	id = cleanID(id)
	return template.HTML(inlineSVG(wide, id+"-w", "wide") + inlineSVG(narrow, id+"-n", "narrow"))
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
