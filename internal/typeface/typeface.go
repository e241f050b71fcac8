// Package typeface carries the two faces of the pages in the binary: a serif
// for sentences and titles, a sans for labels and numbers. Both are open fonts
// that come as Go modules.
package typeface

import (
	"github.com/go-fonts/stix/stix2textitalic"
	"github.com/go-fonts/stix/stix2textregular"
	"github.com/go-fonts/stix/stix2textsemibold"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/gofont/goregular"
)

// The names of the two families in style sheets.
const (
	Serif = "Setwright Serif"
	Sans  = "Setwright Sans"
)

// Face is one font file.
type Face struct {
	File   string // "sans-regular.ttf"
	Family string
	Weight int
	Italic bool
	Data   []byte
}

// Faces returns the font files, always in the same order. The data are shared:
// do not write to them.
func Faces() []Face {
	return []Face{
		{File: "serif-regular.otf", Family: Serif, Weight: 400, Data: stix2textregular.TTF},
		{File: "serif-italic.otf", Family: Serif, Weight: 400, Italic: true, Data: stix2textitalic.TTF},
		{File: "serif-semibold.otf", Family: Serif, Weight: 600, Data: stix2textsemibold.TTF},
		{File: "sans-regular.ttf", Family: Sans, Weight: 400, Data: goregular.TTF},
		{File: "sans-medium.ttf", Family: Sans, Weight: 500, Data: gomedium.TTF},
		{File: "sans-bold.ttf", Family: Sans, Weight: 700, Data: gobold.TTF},
	}
}
