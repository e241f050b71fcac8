package chart

import (
	"fmt"
	"image"
	"image/color"
	"io"
	"math"

	"github.com/signintech/gopdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// ptPerPx makes a px of the picture 1/96 in, as in CSS.
const ptPerPx = 0.75

// The names the two weights of the Go font have in a PDF.
const (
	pdfRegular = "Go"
	pdfBold    = "Go-Bold"
)

// WritePDF writes a picture as a PDF of one page of its own size: vectors, and
// text in an embedded font, so that it can be searched and enlarged.
func WritePDF(w io.Writer, p *Picture, t Theme) error {
	doc := &gopdf.GoPdf{}
	doc.Start(gopdf.Config{Unit: gopdf.UnitPT, PageSize: gopdf.Rect{W: p.Width * ptPerPx, H: p.Height * ptPerPx}})
	doc.SetInfo(gopdf.PdfInfo{Title: p.Title, Subject: p.Desc})
	doc.AddPage()
	if err := doc.AddTTFFontData(pdfRegular, goregular.TTF); err != nil {
		return fmt.Errorf("chart: built-in font: %w", err)
	}
	if err := doc.AddTTFFontData(pdfBold, gobold.TTF); err != nil {
		return fmt.Errorf("chart: built-in font: %w", err)
	}
	b := &pdfBrush{doc: doc, leaf: t.Leaf}
	p.paint(b, t)
	if b.err != nil {
		return fmt.Errorf("chart: writing PDF: %w", b.err)
	}
	_, err := doc.WriteTo(w)
	return err
}

// pdfBrush is the brush of the PDF; it keeps the first error.
type pdfBrush struct {
	doc  *gopdf.GoPdf
	leaf color.RGBA
	err  error
}

func (b *pdfBrush) keep(err error) {
	if b.err == nil {
		b.err = err
	}
}

func (b *pdfBrush) fill(paths [][]Point, c color.RGBA, opacity float64) {
	if opacity < 1 {
		b.keep(b.doc.SetTransparency(gopdf.Transparency{Alpha: opacity, BlendModeType: gopdf.NormalBlendMode}))
		defer b.doc.ClearTransparency()
	}
	b.doc.SetFillColor(c.R, c.G, c.B)
	for _, path := range paths {
		b.polygon(path)
	}
}

func (b *pdfBrush) polygon(path []Point) {
	points := make([]gopdf.Point, len(path))
	for i, q := range path {
		points[i] = gopdf.Point{X: q.X * ptPerPx, Y: q.Y * ptPerPx}
	}
	b.doc.Polygon(points, "F")
}

// stroke fills the outline of what a pen covers. Its colour is mixed with the
// ground instead of made transparent: pieces that overlap must not show.
func (b *pdfBrush) stroke(paths [][]Point, p pen, c color.RGBA, opacity float64) {
	c = mixed(c, b.leaf, opacity)
	b.doc.SetFillColor(c.R, c.G, c.B)
	for _, path := range paths {
		for _, polygon := range p.outlined(path) {
			b.polygon(polygon)
		}
	}
}

func (b *pdfBrush) picture(img *image.RGBA, room Box) {
	b.keep(b.doc.ImageFrom(img, room.X0*ptPerPx, room.Y0*ptPerPx, &gopdf.Rect{W: room.width() * ptPerPx, H: room.height() * ptPerPx}))
}

func mixed(c, ground color.RGBA, opacity float64) color.RGBA {
	mix := func(a, b uint8) uint8 { return uint8(math.Round(opacity*float64(a) + (1-opacity)*float64(b))) }
	return color.RGBA{mix(c.R, ground.R), mix(c.G, ground.G), mix(c.B, ground.B), 0xff}
}

// outlined is like inked, but covers stretches without sharp turns by one
// polygon each, so that no seams show between segments.
func (p pen) outlined(path []Point) [][]Point {
	if p.round && len(path) == 2 && path[0] == path[1] {
		return [][]Point{circle(path[0], p.width/2)}
	}
	var out [][]Point
	start := 0
	for i := 1; i < len(path); i++ {
		if i < len(path)-1 && !turns(path[i-1], path[i], path[i+1]) {
			continue
		}
		if s := sides(path[start:i+1], p.width); s != nil {
			out = append(out, s)
		}
		if i < len(path)-1 || p.round {
			out = append(out, circle(path[i], p.width/2))
		}
		start = i
	}
	if p.round && len(path) > 0 {
		out = append(out, circle(path[0], p.width/2))
	}
	return out
}

// sides goes along one side of a smooth stretch of line and back along the
// other.
func sides(path []Point, width float64) []Point {
	var there, back []Point
	for i := 1; i < len(path); i++ {
		if s := segment(path[i-1], path[i], width); s != nil {
			there = append(there, s[0], s[1])
			back = append(back, s[3], s[2])
		}
	}
	if there == nil {
		return nil
	}
	return outline(back, there)
}

func (b *pdfBrush) set(pieces []piece, y, px float64, isBold bool, c color.RGBA) {
	name := pdfRegular
	if isBold {
		name = pdfBold
	}
	b.keep(b.doc.SetFont(name, "", px*ptPerPx))
	b.doc.SetTextColor(c.R, c.G, c.B)
	for _, p := range pieces {
		b.doc.SetXY(p.x*ptPerPx, y*ptPerPx)
		b.keep(b.doc.Text(p.s))
	}
}
