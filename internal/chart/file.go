package chart

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"setwright/internal/measure"
)

// FormatOf returns the format that a file's name asks for: "svg", "png" or
// "pdf".
func FormatOf(name string) (string, error) {
	switch ext := strings.ToLower(strings.TrimPrefix(filepath.Ext(name), ".")); ext {
	case "svg", "png", "pdf":
		return ext, nil
	}
	return "", fmt.Errorf("%s: a picture's name must end in .svg, .png or .pdf, so that its format is known", name)
}

// File writes plots under each other (record, residuals, Allan chart) as one
// picture in a format that [FormatOf] gives. PDF and PNG are in print and
// light colours; SVG follows the viewer's choice of light or dark.
func File(plots []measure.Plot, format string, w io.Writer) error {
	p := Stack(plots)
	switch format {
	case "svg":
		return WriteSVG(w, p)
	case "png":
		return WritePNG(w, p, Light)
	case "pdf":
		return WritePDF(w, p, Print)
	}
	return fmt.Errorf("chart: no format %q; there are svg, png and pdf", format)
}

// Stack lays plots out under each other, each with its title above and its
// caption below, as a file has no page to carry them.
func Stack(plots []measure.Plot) *Picture {
	out := &Picture{Width: Wide.Width, FontPx: Wide.FontPx}
	var titles, descs []string
	for i, p := range plots {
		size := Wide
		if i > 0 {
			size = Low
		}
		out.below(Layout(p, size), p)
		titles, descs = append(titles, p.Title), append(descs, describe(p))
	}
	if len(plots) == 0 {
		out.below(Layout(measure.Plot{}, Low), measure.Plot{})
	}
	out.Title, out.Desc = strings.Join(titles, "; "), strings.Join(descs, " ")
	return out
}

// below adds a picture with its heading and caption at the lower end.
func (p *Picture) below(q *Picture, plot measure.Plot) {
	px := p.FontPx
	p.Height += 0.9 * px
	if plot.Title != "" {
		p.Height += px
		p.text("head", "", cut(plot.Title, p.Width-2*px, px, true), px, p.Height, Start)
		p.Height += 0.7 * px
	}
	p.Items = append(p.Items, shifted(q.Items, p.Height)...)
	p.Height += q.Height
	for _, line := range wrapped(plot.Caption, p.Width-2*px, px) {
		p.Height += px
		p.text("note", "", line, px, p.Height, Start)
		p.Height += 0.35 * px
	}
	p.Height = tenth(p.Height + 0.6*px)
}

// wrapped breaks a text into lines of at most a width.
func wrapped(s string, width, px float64) []string {
	var out []string
	line := ""
	for word := range strings.FieldsSeq(s) {
		switch longer := strings.TrimSpace(line + " " + word); {
		case TextWidth(longer, px, false) <= width:
			line = longer
		default:
			if line != "" {
				out = append(out, line)
			}
			line = cut(word, width, px, false)
		}
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}
