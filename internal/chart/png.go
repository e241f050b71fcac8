package chart

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	xdraw "golang.org/x/image/draw"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// pngScale is how many dots of a PNG make one px of the picture.
const pngScale = 2

// WritePNG writes a picture as PNG, two dots to the px.
func WritePNG(w io.Writer, p *Picture, t Theme) error {
	img, err := raster(p, t, pngScale)
	if err != nil {
		return err
	}
	return png.Encode(w, img)
}

// raster draws a picture in dots.
func raster(p *Picture, t Theme, scale float64) (*image.RGBA, error) {
	c := &canvas{scale: scale, faces: map[bool]font.Face{},
		img: image.NewRGBA(image.Rect(0, 0, int(math.Ceil(p.Width*scale)), int(math.Ceil(p.Height*scale))))}
	for _, isBold := range []bool{false, true} {
		f, err := opentype.NewFace(weight(isBold).parsed(), &opentype.FaceOptions{Size: p.FontPx * scale, DPI: 72})
		if err != nil {
			return nil, fmt.Errorf("chart: font at %g px: %w", p.FontPx, err)
		}
		defer f.Close()
		c.faces[isBold] = f
	}
	draw.Draw(c.img, c.img.Bounds(), image.NewUniform(t.Leaf), image.Point{}, draw.Src)
	p.paint(c, t)
	return c.img, nil
}

// canvas is the brush of the PNG.
type canvas struct {
	img   *image.RGBA
	scale float64
	faces map[bool]font.Face
}

func (c *canvas) fill(paths [][]Point, col color.RGBA, opacity float64) {
	box := c.bounds(paths)
	if box.Empty() {
		return
	}
	// The rasteriser sums signed areas and caps them at one: polygons that run
	// the same way round form their union.
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	for _, path := range paths {
		for i, q := range path {
			x, y := float32(q.X*c.scale-float64(box.Min.X)), float32(q.Y*c.scale-float64(box.Min.Y))
			if i == 0 {
				r.MoveTo(x, y)
			} else {
				r.LineTo(x, y)
			}
		}
		r.ClosePath()
	}
	r.Draw(c.img, box, image.NewUniform(faded(col, opacity)), image.Point{})
}

// bounds is the part of the image that paths can touch.
func (c *canvas) bounds(paths [][]Point) image.Rectangle {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, path := range paths {
		for _, q := range path {
			x0, y0, x1, y1 = min(x0, q.X), min(y0, q.Y), max(x1, q.X), max(y1, q.Y)
		}
	}
	if x0 > x1 {
		return image.Rectangle{}
	}
	all := c.img.Bounds()
	at := func(v float64) int { return int(clamp(v*c.scale, -1e6, 1e6)) }
	return image.Rect(at(x0)-1, at(y0)-1, at(x1)+2, at(y1)+2).Intersect(all)
}

func faded(c color.RGBA, opacity float64) color.NRGBA {
	return color.NRGBA{c.R, c.G, c.B, uint8(math.Round(opacity * 255))}
}

func (c *canvas) stroke(paths [][]Point, pen pen, col color.RGBA, opacity float64) {
	var polygons [][]Point
	for _, path := range paths {
		polygons = append(polygons, pen.inked(path)...)
	}
	c.fill(polygons, col, opacity)
}

func (c *canvas) set(pieces []piece, y, _ float64, isBold bool, col color.RGBA) {
	for _, p := range pieces {
		d := font.Drawer{Dst: c.img, Src: image.NewUniform(col), Face: c.faces[isBold],
			Dot: fixed.Point26_6{X: fixed.Int26_6(p.x * c.scale * 64), Y: fixed.Int26_6(y * c.scale * 64)}}
		d.DrawString(p.s)
	}
}

func (c *canvas) picture(img *image.RGBA, room Box) {
	at := image.Rect(int(math.Round(room.X0*c.scale)), int(math.Round(room.Y0*c.scale)), int(math.Round(room.X1*c.scale)), int(math.Round(room.Y1*c.scale)))
	xdraw.ApproxBiLinear.Scale(c.img, at, img, img.Rect, draw.Src, nil)
}
