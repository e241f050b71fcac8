package chart

import (
	"fmt"
	"image/color"
	"math"
	"strings"
)

// role is a colour by what it is for.
type role string

const (
	none role = ""
	own  role = "own" // the side's colour; ink where there is no side
	soft role = "soft"
	hair role = "hair"
	leaf role = "leaf"
)

// class is how one class of items is drawn. Widths are px.
type class struct {
	stroke, fill role
	width        float64
	dash         []float64
	opacity      float64 // 0 means 1
	bold         bool
	exact        bool // lines end where they end
}

// classes is the one table of styles: the style sheet is written from it and
// PNG and PDF are drawn by it.
var classes = map[string]class{
	"axis":   {stroke: soft, width: 1, exact: true},
	"grid":   {stroke: hair, width: 1, exact: true},
	"span":   {fill: own, opacity: .07},
	"band":   {fill: own, opacity: .13},
	"plate":  {fill: leaf, opacity: .9},
	"ground": {fill: leaf},
	"tone":   {fill: own},
	"line":   {stroke: own, width: 1.6},
	"bars":   {stroke: own, width: 1.3},
	"dot":    {stroke: own},  // a pen as wide as the dot
	"under":  {stroke: soft}, // readings of no side under a line
	"dense":  {stroke: own, width: 2.2, opacity: .55},
	"ring":   {fill: leaf, stroke: own, width: 1.3},
	"aside":  {fill: leaf, stroke: own, width: 1.1},
	"off":    {fill: own},
	"settle": {stroke: own, width: 1.2, dash: []float64{2, 4}, exact: true},
	"leader": {stroke: soft, width: .8, exact: true},
	"state":  {fill: own, opacity: .3},
	"tick":   {fill: soft},
	"note":   {fill: soft},
	"name":   {fill: own, bold: true},
	"head":   {fill: own, bold: true},
}

// classOrder is the order of the style sheet.
var classOrder = []string{"ground", "axis", "grid", "span", "band", "plate", "tone", "line", "bars", "dot", "under", "dense", "ring",
	"aside", "off", "settle", "leader", "state", "tick", "note", "name", "head"}

// Theme is the colours of a picture.
type Theme struct {
	Leaf, Ink, Soft, Hair, SideA, SideB color.RGBA
}

// The themes. Blue and orange are told apart by all common kinds of colour
// blindness, and the sides differ in their marks besides.
var (
	Light = Theme{hex(0xffffff), hex(0x1d2125), hex(0x59616a), hex(0xd9d5cc), hex(0x1b5e9b), hex(0xb4570a)}
	Dark  = Theme{hex(0x1a1e22), hex(0xe8e5de), hex(0xa3aab2), hex(0x343a41), hex(0x7db4ea), hex(0xf0a35c)}
	Print = Theme{hex(0xffffff), hex(0x000000), hex(0x3a3f45), hex(0xc4c0b8), hex(0x134a7d), hex(0x9a4806)}
)

func hex(rgb uint32) color.RGBA {
	return color.RGBA{uint8(rgb >> 16), uint8(rgb >> 8), uint8(rgb), 0xff}
}

// colour returns the colour of a role on a side.
func (t Theme) colour(r role, side string) color.RGBA {
	switch r {
	case soft:
		return t.Soft
	case hair:
		return t.Hair
	case leaf:
		return t.Leaf
	}
	switch side {
	case "a":
		return t.SideA
	case "b":
		return t.SideB
	}
	return t.Ink
}

// Contrast returns the contrast ratio of two colours, 1 to 21 (WCAG 2.2,
// definitions of relative luminance and contrast ratio).
func Contrast(a, b color.RGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + .05) / (min(la, lb) + .05)
}

func luminance(c color.RGBA) float64 {
	linear := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= .04045 {
			return s / 12.92
		}
		return math.Pow((s+.055)/1.055, 2.4)
	}
	return .2126*linear(c.R) + .7152*linear(c.G) + .0722*linear(c.B)
}

// Stylesheet returns the CSS a page needs to show pictures inlined by
// [Inline]: it expects the custom properties --leaf, --ink, --soft, --hair,
// --side-a, --side-b and --sans, shows the narrow drawing on narrow pages, and
// prints in print colours whatever the screen is set to.
func Stylesheet() string {
	return chartRules() + `.chart.narrow { display: none }
@media (max-width: 40rem) { .chart.wide { display: none } .chart.narrow { display: block } }
@media print { .chart { ` + Print.properties() + ` } .chart.wide { display: block } .chart.narrow { display: none } }
`
}

// standaloneRules is the style sheet inside an SVG file.
func standaloneRules() string {
	return ".chart { " + Light.properties() + "; --sans: \"Setwright Sans\", Go, system-ui, sans-serif }\n" +
		"@media screen and (prefers-color-scheme: dark) { .chart { " + Dark.properties() + " } }\n" +
		"@media print { .chart { " + Print.properties() + " } }\n" + chartRules()
}

func chartRules() string {
	var b strings.Builder
	b.WriteString("svg.chart { width: 100%; height: auto; display: block; background: var(--leaf); color: var(--ink); " +
		"font-family: var(--sans); font-variant-numeric: tabular-nums lining-nums }\n" +
		".chart .a { color: var(--side-a) } .chart .b { color: var(--side-b) }\n")
	for _, name := range classOrder {
		fmt.Fprintf(&b, ".chart .%s { %s }\n", name, classes[name].rules())
	}
	return b.String()
}

func (c class) rules() string {
	out := []string{"fill: " + c.fill.css(), "stroke: " + c.stroke.css()}
	if c.width != 0 {
		out = append(out, "stroke-width: "+num(c.width))
	}
	if c.dash != nil {
		out = append(out, fmt.Sprintf("stroke-dasharray: %s %s", num(c.dash[0]), num(c.dash[1])))
	}
	if c.opacity != 0 {
		out = append(out, "opacity: "+num(c.opacity))
	}
	if c.bold {
		out = append(out, "font-weight: 600")
	}
	if c.stroke != none && c.fill == none {
		out = append(out, "stroke-linejoin: round", "stroke-linecap: "+c.linecap())
	}
	return strings.Join(out, "; ")
}

// linecap is round unless the ends must be exact (axes, dashes). Dots are lines
// of no length: with any other end they would vanish.
func (c class) linecap() string {
	if c.exact {
		return "butt"
	}
	return "round"
}

func (r role) css() string {
	switch r {
	case none:
		return "none"
	case own:
		return "currentColor"
	}
	return "var(--" + string(r) + ")"
}

func (t Theme) properties() string {
	return fmt.Sprintf("--leaf: %s; --ink: %s; --soft: %s; --hair: %s; --side-a: %s; --side-b: %s",
		css(t.Leaf), css(t.Ink), css(t.Soft), css(t.Hair), css(t.SideA), css(t.SideB))
}

func css(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }
