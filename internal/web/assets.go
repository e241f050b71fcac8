package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"mime"
	"net/http"
	"path"
	"strings"
	"time"

	"setwright/internal/chart"
	"setwright/internal/typeface"
)

//go:embed assets
var assetFiles embed.FS

// asset is one file for the browser.
type asset struct {
	data []byte
	kind string // content type
	hash string
}

// assets are the files under /assets/ by name.
type assets map[string]asset

// loadAssets gathers scripts, styles and faces. The style sheet is joined from
// the faces, the styles of the pictures and those of the pages.
func loadAssets() (assets, error) {
	out := assets{}
	for _, f := range typeface.Faces() {
		out.add(f.File, f.Data)
	}
	files, err := assetFiles.ReadDir("assets")
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		data, err := assetFiles.ReadFile("assets/" + f.Name())
		if err != nil {
			return nil, err
		}
		if f.Name() == "setwright.css" {
			data = append([]byte(out.faceRules()+chart.Stylesheet()), data...)
		}
		out.add(f.Name(), data)
	}
	return out, nil
}

func (a assets) add(name string, data []byte) {
	sum := sha256.Sum256(data)
	kind := mime.TypeByExtension(path.Ext(name))
	switch path.Ext(name) { // not left to the computer's own table
	case ".css":
		kind = "text/css; charset=utf-8"
	case ".js":
		kind = "text/javascript; charset=utf-8"
	case ".svg":
		kind = "image/svg+xml"
	case ".ttf":
		kind = "font/ttf"
	case ".otf":
		kind = "font/otf"
	}
	a[name] = asset{data: data, kind: kind, hash: hex.EncodeToString(sum[:8])}
}

// faceRules declares the faces.
func (a assets) faceRules() string {
	var b strings.Builder
	for _, f := range typeface.Faces() {
		style := "normal"
		if f.Italic {
			style = "italic"
		}
		fmt.Fprintf(&b, "@font-face { font-family: %q; font-weight: %d; font-style: %s; font-display: swap; src: url(%q) }\n",
			f.Family, f.Weight, style, a.href(f.File))
	}
	return b.String()
}

// href is the address of an asset, with its digest, so that it can be kept for
// ever and is asked for anew when it changes.
func (a assets) href(name string) string { return "/assets/" + name + "?v=" + a[name].hash }

// serve answers for /assets/.
func (a assets) serve(w http.ResponseWriter, r *http.Request) error {
	f, ok := a[r.PathValue("name")]
	if !ok {
		return notThere("There is no file %q for the pages.", r.PathValue("name"))
	}
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("ETag", `"`+f.hash+`"`)
	h.Set("Cache-Control", "no-cache")
	if r.URL.Query().Get("v") == f.hash {
		h.Set("Cache-Control", "max-age=31536000, immutable")
	}
	http.ServeContent(w, r, r.PathValue("name"), time.Time{}, bytes.NewReader(f.data))
	return nil
}
