package chart

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"strconv"
	"strings"
)

// num writes a coordinate or width in the shortest form.
func num(v float64) string {
	if v == 0 {
		v = 0 // no minus before a zero
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// WriteSVG writes a picture as a file of its own, with its style sheet inside:
// light, dark where the viewer asks for it, and print.
func WriteSVG(w io.Writer, p *Picture) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" `, num(p.Width), num(p.Height))
	p.svg(b, "picture", "", standaloneRules())
	return b.Flush()
}

// inlineSVG returns a picture for the inside of a page, which provides the
// style sheet (see [Stylesheet]). id must be unique on the page.
func inlineSVG(p *Picture, id, variant string) string {
	var s strings.Builder
	b := bufio.NewWriter(&s)
	b.WriteString("<svg ")
	p.svg(b, id, variant, "")
	b.Flush() // a strings.Builder never fails
	return s.String()
}

func (p *Picture) svg(b *bufio.Writer, id, variant, style string) {
	fmt.Fprintf(b, `class="%s" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-t %s-d">`+"\n",
		strings.TrimSpace("chart "+variant), num(p.Width), num(p.Height), id, id)
	fmt.Fprintf(b, "<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n",
		id, escape(p.Title), id, escape(p.Desc))
	if style != "" {
		// The ground is drawn too: some viewers ignore a background on the root.
		fmt.Fprintf(b, "<style>\n%s</style>\n<rect width=\"%s\" height=\"%s\" class=\"ground\"/>\n",
			style, num(p.Width), num(p.Height))
	}
	fmt.Fprintf(b, "<g font-size=\"%s\">\n", num(p.FontPx))
	for i, it := range p.Items {
		if it.Kind == Tone {
			it.svgTone(b, fmt.Sprintf("%s-m%d", id, i), it.Class)
		} else {
			it.svg(b)
		}
		b.WriteString("\n")
	}
	b.WriteString("</g>\n</svg>\n")
}

// escape makes text safe in SVG, leaving out the control characters that XML
// cannot hold.
func escape(s string) string {
	return html.EscapeString(strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' || r == 0xfffe || r == 0xffff {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd")))
}

func (it Item) svg(b *bufio.Writer) {
	class := strings.TrimSpace(it.Class + " " + it.Side)
	switch it.Kind {
	case Text:
		anchor := ""
		if it.Anchor != Start {
			anchor = fmt.Sprintf(` text-anchor="%s"`, it.Anchor)
		}
		fmt.Fprintf(b, `<text class="%s" x="%s" y="%s"%s>%s</text>`,
			class, num(it.At[0].X), num(it.At[0].Y), anchor, escape(it.Text))
	case Symbols:
		it.svgSymbols(b, class)
	default:
		fmt.Fprintf(b, `<path class="%s" d="`, class)
		for _, path := range it.Paths {
			svgPath(b, path, it.Kind == Area)
		}
		b.WriteString(`"/>`)
	}
}

// svgPath writes "Mx yLx y x y".
func svgPath(b *bufio.Writer, path []Point, closed bool) {
	for i, q := range path {
		switch i {
		case 0:
			b.WriteString("M")
		case 1:
			b.WriteString("L")
		default:
			b.WriteString(" ")
		}
		b.WriteString(num(q.X) + " " + num(q.Y))
	}
	if closed {
		b.WriteString("Z")
	}
}

func (it Item) svgSymbols(b *bufio.Writer, class string) {
	fmt.Fprintf(b, `<path class="%s"`, class)
	if it.Shape == Disc { // a line of no length with a round pen: a fifth of the bytes of a circle
		fmt.Fprintf(b, ` stroke-width="%s" stroke-linecap="round"`, num(tenth(2*it.R)))
	}
	b.WriteString(` d="`)
	for _, q := range it.At {
		b.WriteString("M" + it.Shape.svg(q, it.R))
	}
	b.WriteString(`"/>`)
}

// svg writes the outline of a symbol, after its M.
func (s Shape) svg(q Point, r float64) string {
	n, d := num(r), num(tenth(2*r))
	left := num(tenth(q.X-r)) + " " + num(q.Y)
	switch s {
	case Disc:
		return num(q.X) + " " + num(q.Y) + "h0"
	case Diamond:
		return left + "l" + n + " -" + n + " " + n + " " + n + " -" + n + " " + n + "z"
	case Outward:
		return left + "h" + d + "l" + num(-r) + " " + num(tenth(-1.6*r)) + "z"
	}
	k := tenth(0.7 * r) // Crossed
	return left + "a" + n + " " + n + " 0 1 0 " + d + " 0a" + n + " " + n + " 0 1 0 -" + d + " 0" +
		"M" + num(tenth(q.X-k)) + " " + num(tenth(q.Y-k)) + "l" + num(2*k) + " " + num(2*k) +
		"m0 " + num(-2*k) + "l" + num(-2*k) + " " + num(2*k)
}
