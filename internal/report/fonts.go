package report

import (
	"encoding/base64"
	"fmt"
	"strings"
	"sync"

	"setwright/internal/typeface"
)

// dataURLs are the faces by file name, as addresses that hold their data. They
// are made once: packing takes a tenth of a second each.
var dataURLs = sync.OnceValues(func() (map[string]string, error) {
	out := map[string]string{}
	for _, f := range typeface.Faces() {
		packed, err := f.WOFF()
		if err != nil {
			return nil, err
		}
		out[f.File] = "data:font/woff;base64," + base64.StdEncoding.EncodeToString(packed)
	}
	return out, nil
})

// fontFaces returns the rules for the named font files, with the fonts inside.
func fontFaces(names ...string) (string, error) {
	urls, err := dataURLs()
	if err != nil {
		return "", err
	}
	var b strings.Builder
	for _, f := range typeface.Faces() {
		for _, name := range names {
			if f.File != name {
				continue
			}
			slant := "normal"
			if f.Italic {
				slant = "italic"
			}
			fmt.Fprintf(&b, "@font-face { font-family: %q; font-weight: %d; font-style: %s; src: url(%s) format(\"woff\") }\n",
				f.Family, f.Weight, slant, urls[name])
		}
	}
	return b.String(), nil
}
