package chart

import (
	"bufio"
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"

	"setwright/internal/measure"
)

// tones is how many tones a grid of values is drawn in, none of ink counted. So
// few keep the picture small and lose nothing that an eye could tell apart.
const tones = 16

// tones draws a grid of values. On a narrow picture cells are joined: the
// largest of them shows, so that a thin line is not lost.
func (s *sheet) tones(l measure.Layer) {
	t := l.Tones
	if t == nil || t.Columns < 1 || t.Rows < 1 || len(t.Values) < t.Columns*t.Rows {
		return
	}
	a, b := s.at(t.X0, t.Y1), s.at(t.X1, t.Y0)
	if !a.ok() || !b.ok() {
		return
	}
	columns := min(t.Columns, int(math.Ceil(b.X-a.X)))
	img := image.NewGray(image.Rect(0, 0, columns, t.Rows))
	for row := range t.Rows {
		for c := range columns {
			from, to := c*t.Columns/columns, (c+1)*t.Columns/columns
			img.SetGray(c, t.Rows-1-row, color.Gray{toneOf(t, row, from, to)})
		}
	}
	s.pic.Items = append(s.pic.Items, Item{Kind: Tone, Class: "tone", Side: l.Side, Cells: img,
		Room: Box{tenth(a.X), tenth(a.Y), tenth(b.X), tenth(b.Y)}})
}

// png returns the cells as a small file: a palette of the tones.
func (it Item) png() []byte {
	palette := make(color.Palette, tones)
	for i := range palette {
		palette[i] = color.Gray{toneInk(i)}
	}
	img := image.NewPaletted(it.Cells.Rect, palette)
	for i, v := range it.Cells.Pix {
		img.Pix[i] = uint8(int(v) * (tones - 1) / 255)
	}
	var b bytes.Buffer
	_ = (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, img) // a buffer never fails
	return b.Bytes()
}

// toneInk is how much ink a tone has, 0 to 255.
func toneInk(i int) uint8 { return uint8(i * 255 / (tones - 1)) }

// svgTone writes cells as a mask over ink, so that they follow the colours of
// the page. id must be unique on it.
func (it Item) svgTone(b *bufio.Writer, id, class string) {
	at := fmt.Sprintf(`x="%s" y="%s" width="%s" height="%s"`, num(it.Room.X0), num(it.Room.Y0), num(it.Room.width()), num(it.Room.height()))
	fmt.Fprintf(b, `<mask id="%s" maskUnits="userSpaceOnUse" %s><image %s preserveAspectRatio="none" href="data:image/png;base64,%s"/></mask>`,
		id, at, at, base64.StdEncoding.EncodeToString(it.png()))
	fmt.Fprintf(b, `<rect class="%s" %s mask="url(#%s)"/>`, class, at, id)
}

// painted returns the cells in the colours of a theme, for backends that have
// no masks.
func (it Item) painted(ink, leaf color.RGBA) *image.RGBA {
	out := image.NewRGBA(it.Cells.Rect)
	for y := it.Cells.Rect.Min.Y; y < it.Cells.Rect.Max.Y; y++ {
		for x := it.Cells.Rect.Min.X; x < it.Cells.Rect.Max.X; x++ {
			out.SetRGBA(x, y, mixed(ink, leaf, float64(it.Cells.GrayAt(x, y).Y)/255))
		}
	}
	return out
}

// toneOf is the ink of joined cells of a row: that of the largest.
func toneOf(t *measure.Tones, row, from, to int) uint8 {
	most := math.Inf(-1)
	for _, v := range t.Values[row*t.Columns+from : row*t.Columns+max(to, from+1)] {
		most = max(most, float64(v))
	}
	part := (most - t.Lo) / (t.Hi - t.Lo)
	if !(part > 0) { // NaN too: nothing is known there
		return 0
	}
	return toneInk(int(math.Round(min(part, 1) * (tones - 1))))
}
