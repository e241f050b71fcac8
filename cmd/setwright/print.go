package main

import (
	"encoding/json"
	"fmt"
	"io"
	"sort"
	"strings"
	"unicode/utf8"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// printer prints quantities for people.
var printer = quantity.Printer{}

// printAnalyses prints files one after the other.
func printAnalyses(w io.Writer, all []workshop.FileAnalysis) error {
	for i, a := range all {
		if i > 0 {
			fmt.Fprintln(w)
		}
		if len(all) > 1 {
			fmt.Fprintf(w, "%s\n%s\n\n", a.File, strings.Repeat("-", utf8.RuneCountInString(a.File)))
		}
		printAnalysis(w, a.About, a.Analysis)
		printReading(w, a)
	}
	return nil
}

// printAnalysis prints the sentences first, then figures, then what was left
// out and why.
func printAnalysis(w io.Writer, about measure.About, a measure.Analysis) {
	for _, s := range a.Sentences {
		fmt.Fprintln(w, wrap(s, 92, ""))
	}
	fmt.Fprintln(w)
	printFigures(w, about, a.Figures)
	printList(w, "Set aside", asideLines(a.SetAside))
	printList(w, "Warnings", a.Warnings)
	printList(w, "Notes", a.Notes)
}

// printFigures prints a table of figures, then the conditions they share.
func printFigures(w io.Writer, about measure.About, figures []run.Figure) {
	specs := map[string]measure.FigureSpec{}
	for _, s := range about.Figures {
		specs[s.ID] = s
	}
	var rows [][]string
	for _, f := range figures {
		rows = append(rows, []string{workshop.FigureTitle(specs[f.ID], f.Conditions), printer.Outcome(f.Outcome, f.Unit), remark(f)})
	}
	printTable(w, rows)
	if shared := sharedConditions(figures); shared != "" {
		fmt.Fprintf(w, "\nConditions: %s. Uncertainties are standard ones (about two in three).\n", shared)
	}
}

// remark is the detail of a figure that a reader needs beside it.
func remark(f run.Figure) string {
	var parts []string
	for _, d := range f.Details {
		switch {
		case d.ID == "why":
			parts = append(parts, d.Text)
		case d.ID == "predicted" && f.Kind == quantity.KindBound && d.Value != nil:
			parts = append(parts, "the fitted curve says "+quantity.FormatNumber(rounded(*d.Value), "s"))
		case d.ID == "noise" && f.ID == "allan_deviation":
			parts = append(parts, d.Text)
		case d.ID == "jump":
			parts = append(parts, jumpWords(d))
		}
	}
	return strings.Join(parts, "; ")
}

func jumpWords(d run.Detail) string {
	var at, size string
	for _, p := range d.Parts {
		switch {
		case p.ID == "time" && p.Value != nil:
			at = quantity.FormatNumber(rounded(*p.Value), "s")
		case p.ID == "size" && p.Value != nil:
			v := quantity.Exact(*p.Value)
			if p.U != nil {
				v = v.With(quantity.Contribution{C: *p.U})
			}
			size = printer.Format(v, "Hz")
		}
	}
	return size + " at " + at
}

// rounded keeps three digits of a number that is only told.
func rounded(x float64) float64 {
	var y float64
	if _, err := fmt.Sscan(fmt.Sprintf("%.3g", x), &y); err != nil {
		return x
	}
	return y
}

// sharedConditions lists the conditions that all figures have in common.
func sharedConditions(figures []run.Figure) string {
	if len(figures) == 0 {
		return ""
	}
	var parts []string
	for k, v := range figures[0].Conditions {
		common := true
		for _, f := range figures {
			common = common && f.Conditions[k] == v
		}
		if common {
			parts = append(parts, conditionText(k, v))
		}
	}
	sort.Strings(parts)
	return strings.Join(parts, ", ")
}

// conditionText prints a condition with the unit at the end of its name.
func conditionText(name, value string) string {
	for suffix, unit := range map[string]string{"_s": "s", "_hz": "Hz"} {
		if base, ok := strings.CutSuffix(name, suffix); ok {
			if x, err := measure.ParseNumber(value, unit); err == nil {
				return strings.ReplaceAll(base, "_", " ") + " " + quantity.FormatNumber(x, unit)
			}
		}
	}
	return strings.ReplaceAll(name, "_", " ") + " " + value
}

func asideLines(aside []measure.SetAside) []string {
	var out []string
	for i, s := range aside {
		if i == 10 {
			return append(out, fmt.Sprintf("and %d more", len(aside)-10))
		}
		out = append(out, fmt.Sprintf("reading %d at %s, %s: %s", s.Row+1, quantity.FormatNumber(rounded(s.TimeS), "s"), quantity.FormatNumber(s.Value, s.Unit), s.Reason))
	}
	return out
}

// printReading says how the file was read, where that was a guess.
func printReading(w io.Writer, a workshop.FileAnalysis) {
	printList(w, "How the file was read", a.Layout.Doubts())
	if a.Report != nil {
		printList(w, "About the file", a.Report.Warnings)
	}
}

func printList(w io.Writer, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s:\n", title)
	for _, l := range lines {
		fmt.Fprintf(w, "  %s\n", wrap(l, 90, "  "))
	}
}

// printTable prints rows in columns; the last column is not padded.
func printTable(w io.Writer, rows [][]string) {
	var width []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(width) {
				width = append(width, 0)
			}
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range rows {
		var b strings.Builder
		for i, cell := range row {
			b.WriteString(cell)
			if i < len(row)-1 {
				b.WriteString(strings.Repeat(" ", width[i]-utf8.RuneCountInString(cell)+2))
			}
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
}

// wrap breaks text at blanks so that lines have at most width characters;
// further lines begin with indent.
func wrap(text string, width int, indent string) string {
	var b strings.Builder
	n := 0
	for i, word := range strings.Fields(text) {
		l := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case n+1+l > width:
			b.WriteString("\n" + indent)
			n = utf8.RuneCountInString(indent)
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(word)
		n += l
	}
	return b.String()
}

// analysisJSON is the object that --json prints.
type analysisJSON struct {
	Sentences []string     `json:"sentences"`
	Figures   []run.Figure `json:"figures"`
	SetAside  []asideJSON  `json:"set_aside,omitempty"`
	Notes     []string     `json:"notes"`
	Warnings  []string     `json:"warnings"`
}

type asideJSON struct {
	File    string  `json:"file,omitempty"`
	Reading int     `json:"reading"` // from 1
	TimeS   float64 `json:"time_s"`
	Value   float64 `json:"value"`
	Unit    string  `json:"unit"`
	Reason  string  `json:"reason"`
}

// printAnalysesJSON prints one object. With several files every figure says its
// file among its conditions.
func printAnalysesJSON(w io.Writer, all []workshop.FileAnalysis) error {
	out := analysisJSON{Sentences: []string{}, Figures: []run.Figure{}, Notes: []string{}, Warnings: []string{}}
	for _, a := range all {
		file, prefix := "", ""
		if len(all) > 1 {
			file, prefix = a.File, a.File+": "
		}
		for _, f := range a.Analysis.Figures {
			if file != "" {
				f.Conditions["file"] = file
			}
			out.Figures = append(out.Figures, f)
		}
		for _, s := range a.Analysis.SetAside {
			out.SetAside = append(out.SetAside, asideJSON{file, s.Row + 1, s.TimeS, s.Value, s.Unit, s.Reason})
		}
		out.Sentences = append(out.Sentences, prefixed(prefix, a.Analysis.Sentences)...)
		out.Notes = append(out.Notes, prefixed(prefix, append(a.Analysis.Notes, a.Layout.Doubts()...))...)
		out.Warnings = append(out.Warnings, prefixed(prefix, a.Analysis.Warnings)...)
		if a.Report != nil {
			out.Warnings = append(out.Warnings, prefixed(prefix, a.Report.Warnings)...)
		}
	}
	return printJSON(w, out)
}

func prefixed(prefix string, lines []string) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = prefix + l
	}
	return out
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(v)
}
