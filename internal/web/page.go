package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"
)

// Page is what every page has. A page's struct embeds it.
type Page struct {
	Title   string
	Where   []Link // the way here, from the shelf
	Nav     string // entry of the running head that is the present one
	Notice  string // what was just done
	Status  int    // 0 is 200
	Bare    bool   // no running head to look past: a page at the bench
	Refresh string // look again after so many seconds, and where
}

// Link is a place to go to.
type Link struct{ Text, Href string }

func (p Page) status() int {
	if p.Status == 0 {
		return http.StatusOK
	}
	return p.Status
}

// paged is any struct that embeds Page.
type paged interface{ status() int }

//go:embed templates
var templateFiles embed.FS

// pages are the templates by name, each complete with layout and parts.
type pages map[string]*template.Template

// shared are the templates that every page has.
var shared = []string{"templates/layout.html", "templates/parts.html", "templates/verdicts.html"}

// parsePages reads all templates. A fault in one is a fault of the program.
func parsePages(functions template.FuncMap) (pages, error) {
	base, err := template.New("").Funcs(functions).Option("missingkey=error").ParseFS(templateFiles, shared...)
	if err != nil {
		return nil, err
	}
	files, err := fs.Glob(templateFiles, "templates/*.html")
	if err != nil {
		return nil, err
	}
	out := pages{}
	for _, file := range files {
		if slices.Contains(shared, file) {
			continue
		}
		t, err := template.Must(base.Clone()).ParseFS(templateFiles, file)
		if err != nil {
			return nil, err
		}
		out[strings.TrimSuffix(path.Base(file), ".html")] = t
	}
	return out, nil
}

// show renders a page whole before the first byte goes out, so that a fault in
// the middle is not half a page.
func (s *Server) show(w http.ResponseWriter, _ *http.Request, name string, p paged) error {
	t, ok := s.pages[name]
	if !ok {
		return fmt.Errorf("web: there is no template %q", name)
	}
	if s.seen != nil {
		s.seen(name)
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "layout", p); err != nil {
		return &answer{status: http.StatusInternalServerError, title: "A fault in the program", text: "This page could not be written.", err: err}
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(p.status())
	_, _ = b.WriteTo(w) // whoever asked has gone: nobody to tell
	return nil
}
