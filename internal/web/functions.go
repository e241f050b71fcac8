package web

import (
	"html/template"
	"net/url"
	"regexp"
	"strings"
	"time"

	"setwright/internal/chart"
	"setwright/internal/measure"
	"setwright/internal/report"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// printer prints quantities for the pages: thin spaces between thousands.
var printer = quantity.Printer{Group: true}

// functions are what the templates may call.
func (s *Server) functions() template.FuncMap {
	return template.FuncMap{
		"asset":      s.assets.href,
		"path":       pathOf,
		"outcome":    func(f run.Figure) string { return printer.Outcome(f.Outcome, f.Unit) },
		"number":     func(x float64, unit string) string { return printer.Format(quantity.Exact(x), unit) },
		"day":        report.Day,
		"moment":     report.Moment,
		"iso":        func(t time.Time) string { return t.Format(time.RFC3339) },
		"ucfirst":    measure.Capital,
		"sentence":   sentence,
		"plural":     report.Count,
		"chart":      chart.Inline,
		"chartLow":   chart.InlineLow,
		"timeline":   chart.InlineTimeline,
		"figureName": s.figureName,
		"figureHelp": s.figureHelp,
		"errorUnit":  func(role string) string { return workshop.ErrorUnit(s.unitOf(role)) },
		"int":        func(n int64) int { return int(n) },
		"soundWords": func(in run.Instrument) []string { return workshop.CalibrationWords(in, s.shop.Clock()) },
		"fraction":   func(x float64) string { return told(1e6*x, "ppm") },
		"clock":      clock,
		"strip":      chart.InlineStrip,
		"list":       func(items ...any) []any { return items },
		"add":        func(a, b int) int { return a + b },
	}
}

// pathOf escapes an id for an address: "a/b#1" is "a/b%231".
func pathOf(id string) string {
	parts := strings.Split(id, "/")
	for i, p := range parts {
		parts[i] = url.PathEscape(p)
	}
	return strings.Join(parts, "/")
}

// figureName names a figure with the conditions that make it its own.
func (s *Server) figureName(f run.Figure) string {
	spec, _, ok := s.shop.Registry.Figure(f.ID)
	if !ok {
		return f.ID
	}
	return workshop.FigureTitle(spec, f.Conditions)
}

// figureHelp is the definition of a figure.
func (s *Server) figureHelp(f run.Figure) string {
	spec, _, _ := s.shop.Registry.Figure(f.ID)
	return spec.Help
}

// unitOf is the unit of a column.
func (s *Server) unitOf(role string) string {
	for _, id := range s.shop.Registry.IDs() {
		m, err := s.shop.Registry.Get(id)
		if err != nil {
			continue
		}
		for _, c := range m.About().Columns {
			if c.Role == role {
				return c.Unit
			}
		}
	}
	return "1"
}

// fileFirst finds the name of a file at the beginning, which keeps its letters.
var fileFirst = regexp.MustCompile(`^[^,:]*\.[A-Za-z0-9]{2,5}[,:]`)

// sentence begins with a capital and ends with a stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if !fileFirst.MatchString(s) {
		s = measure.Capital(s)
	}
	if s != "" && !strings.ContainsRune(".!?:", rune(s[len(s)-1])) {
		s += "."
	}
	return s
}
