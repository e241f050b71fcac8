package chart

import (
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// How much wider than the Go font, which PNG and PDF are set in, the font of a
// browser may run (its own sans where the page's is missing) without labels
// touching. Layout allows for it. Measured on labels of charts: the widest
// sans serif in common use runs 1.17 times as wide, its bold 1.25 times.
const (
	regularRoom = 1.17
	boldRoom    = 1.25
)

// thinSpaceEm is the width of a thin space, which the Go font lacks: a fifth
// of an em (common practice, no source).
const thinSpaceEm = 0.2

// face measures one weight of the Go font.
type face struct {
	once sync.Once
	ttf  []byte
	font *sfnt.Font
	mu   sync.Mutex
	em   map[rune]float64 // advances in em
}

var (
	regular = &face{ttf: goregular.TTF}
	bold    = &face{ttf: gobold.TTF}
)

func weight(isBold bool) *face {
	if isBold {
		return bold
	}
	return regular
}

// parsed returns the font; the bytes are part of the program, so that failing
// to read them is a fault of the program.
func (f *face) parsed() *sfnt.Font {
	f.once.Do(func() {
		parsed, err := sfnt.Parse(f.ttf)
		if err != nil {
			panic("chart: built-in font: " + err.Error())
		}
		f.font, f.em = parsed, map[rune]float64{}
	})
	return f.font
}

// advance returns the width of a rune in em.
func (f *face) advance(r rune) float64 {
	if string(r) == thinSpace {
		return thinSpaceEm
	}
	parsed := f.parsed()
	f.mu.Lock()
	defer f.mu.Unlock()
	if em, ok := f.em[r]; ok {
		return em
	}
	const ppem = 1000
	var buf sfnt.Buffer
	em := 0.6
	if i, err := parsed.GlyphIndex(&buf, r); err == nil {
		if a, err := parsed.GlyphAdvance(&buf, i, fixed.I(ppem), font.HintingNone); err == nil {
			em = float64(a) / 64 / ppem
		}
	}
	f.em[r] = em
	return em
}

// has reports whether the font can draw r.
func (f *face) has(r rune) bool {
	var buf sfnt.Buffer
	i, err := f.parsed().GlyphIndex(&buf, r)
	return err == nil && i != 0
}

// setWidth returns the width of s set in the Go font at px.
func setWidth(s string, px float64, isBold bool) float64 {
	em := 0.0
	for _, r := range s {
		em += weight(isBold).advance(r)
	}
	return em * px
}

// TextWidth returns the width in px that layout allows for s at a font size
// of px: that of the Go font and room for the wider fonts of browsers.
func TextWidth(s string, px float64, bold bool) float64 {
	if bold {
		return setWidth(s, px, bold) * boldRoom
	}
	return setWidth(s, px, bold) * regularRoom
}

// piece is a part of a text that the Go font can set, with where it begins.
type piece struct {
	x float64
	s string
}

// pieces cuts a text at thin spaces, which the font lacks, and replaces what
// else it lacks by a question mark, so that nothing vanishes unseen. x is
// where the whole text begins.
func pieces(s string, x, px float64, isBold bool) []piece {
	var out []piece
	for part := range strings.SplitSeq(s, thinSpace) {
		part = strings.Map(func(r rune) rune {
			if weight(isBold).has(r) {
				return r
			}
			return '?'
		}, part)
		if part != "" {
			out = append(out, piece{x, part})
		}
		x += setWidth(part, px, isBold) + thinSpaceEm*px
	}
	return out
}

// setStart returns where a text begins when set in the Go font.
func (p *Picture) setStart(it Item) float64 {
	w := setWidth(it.Text, p.FontPx, classes[it.Class].bold)
	switch it.Anchor {
	case Middle:
		return it.At[0].X - w/2
	case End:
		return it.At[0].X - w
	}
	return it.At[0].X
}
