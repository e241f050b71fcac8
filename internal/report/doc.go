// Package report writes what goes on paper: the record of a set, and bench
// cards with blanks. Each is one HTML file that holds its fonts, styles and
// pictures and asks for nothing from outside, so that it can be read in decades
// and sent by any means. It computes nothing: it shows what package workshop
// found.
//
// The views of verdicts ([Verdict]) are shared with the pages, so that page and
// paper say the same.
package report

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"runtime/debug"
	"strings"
	"sync"
	"unicode"

	"setwright/internal/chart"
	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// printer prints quantities on paper: thin spaces between thousands.
var printer = quantity.Printer{Group: true}

//go:embed templates
var files embed.FS

// templates are parsed once; a fault in them is a fault of the program and is
// found by every test.
var templates = sync.OnceValues(func() (*template.Template, error) {
	return template.New("").Funcs(template.FuncMap{
		"outcome": func(f run.Figure) string { return printer.Outcome(f.Outcome, f.Unit) },
		"number":  func(x float64, unit string) string { return printer.Format(quantity.Exact(x), unit) },
		"count":   Count,
		"day":     Day,
		"moment":  Moment,
		"title":   measure.Capital,
		"remark":  workshop.FigureRemark,
		"reading": func(row int) int { return row + 1 },
		"aside":   workshop.AsideWords,
		"join":    strings.Join,
		"values":  Values,
		"chart":   chart.Inline,
		"unit":    columnUnit,
	}).ParseFS(files, "templates/*.html")
})

// write renders a template whole before the first byte goes out.
func write(w io.Writer, name string, data any) error {
	t, err := templates()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, name, data); err != nil {
		return err
	}
	_, err = b.WriteTo(w)
	return err
}

// style is the style sheet of a paper page: fonts, our own rules, pictures.
func style(name string, faces ...string) (template.CSS, error) {
	fonts, err := fontFaces(faces...)
	if err != nil {
		return "", err
	}
	own, err := files.ReadFile("templates/" + name)
	return template.CSS(fonts + string(own) + chart.Stylesheet()), err
}

// runningHeads is the rule that puts two texts at the head of printed pages.
func runningHeads(left, right string) template.CSS {
	return template.CSS("@page { @top-left { content: " + cssString(left) + " } @top-right { content: " + cssString(right) + " } }\n" +
		"@page :first { @top-left { content: none } @top-right { content: none } }\n")
}

// cssString writes text as a string of a style sheet: everything but letters,
// digits and blanks as an escape, so that no text can end the string.
func cssString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		if r == ' ' || unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
			continue
		}
		fmt.Fprintf(&b, "\\%x ", r) // the blank ends the escape
	}
	b.WriteByte('"')
	return b.String()
}

// Version says which program this is: the version it was built as, or the
// revision of its source.
func Version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "of unknown version"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			return "revision " + s.Value[:min(12, len(s.Value))]
		}
	}
	return "built from source"
}
