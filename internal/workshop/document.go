package workshop

import (
	"encoding/json"
	"io"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// Document is an analysis as one JSON object: the form of every output that is
// meant for another program.
type Document struct {
	Sentences []string        `json:"sentences"`
	Figures   []run.Figure    `json:"figures"`
	SetAside  []AsideDocument `json:"set_aside,omitempty"`
	Notes     []string        `json:"notes"`
	Warnings  []string        `json:"warnings"`
}

// AsideDocument is a reading that took no part.
type AsideDocument struct {
	File    string  `json:"file,omitempty"` // where several files were analysed
	Reading int     `json:"reading"`        // from 1
	TimeS   float64 `json:"time_s"`
	Value   float64 `json:"value"`
	Unit    string  `json:"unit"`
	Reason  string  `json:"reason"`
}

// DocumentOf makes the document of an analysis.
func DocumentOf(a measure.Analysis) Document {
	d := Document{
		Sentences: append([]string{}, a.Sentences...), Figures: append([]run.Figure{}, a.Figures...),
		Notes: append([]string{}, a.Notes...), Warnings: append([]string{}, a.Warnings...),
	}
	for _, s := range a.SetAside {
		d.SetAside = append(d.SetAside, AsideDocument{Reading: s.Row + 1, TimeS: s.TimeS, Value: s.Value, Unit: s.Unit, Reason: s.Reason})
	}
	return d
}

// Write writes the document as indented JSON.
func (d Document) Write(w io.Writer) error { return writeJSON(w, d) }

func writeJSON(w io.Writer, d any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(d)
}
