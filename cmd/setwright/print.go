package main

import (
	"encoding/json"
	"fmt"
	"io"
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
		rows = append(rows, []string{workshop.FigureTitle(specs[f.ID], f.Conditions), printer.Outcome(f.Outcome, f.Unit), workshop.FigureRemark(f)})
	}
	printTable(w, rows)
	if shared := workshop.SharedConditions(figures); len(shared) > 0 {
		fmt.Fprintln(w, "\n"+wrap("All for: "+strings.Join(shared, ", ")+". ± is one standard uncertainty: about two times in three the truth lies within it.", 92, "  "))
	}
}

func asideLines(aside []measure.SetAside) []string {
	var out []string
	for i, s := range aside {
		if i == 10 {
			return append(out, fmt.Sprintf("and %d more", len(aside)-10))
		}
		out = append(out, workshop.AsideWords(s))
	}
	return out
}

// printReading says what the recordings were, and how a log was read where that
// was a guess.
func printReading(w io.Writer, a workshop.FileAnalysis) {
	printList(w, "Recordings", soundLines(a))
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

// printAnalysesJSON prints one object. With several files every figure says its
// file among its conditions, and every line begins with it.
func printAnalysesJSON(w io.Writer, all []workshop.FileAnalysis) error {
	out := workshop.DocumentOf(measure.Analysis{})
	for _, a := range all {
		file, prefix := "", ""
		if len(all) > 1 {
			file, prefix = a.File, a.File+": "
		}
		d := workshop.DocumentOf(a.Analysis)
		for i := range d.Figures {
			if file != "" {
				d.Figures[i].Conditions["file"] = file
			}
		}
		for i := range d.SetAside {
			d.SetAside[i].File = file
		}
		out.Figures, out.SetAside = append(out.Figures, d.Figures...), append(out.SetAside, d.SetAside...)
		out.Sentences = append(out.Sentences, prefixed(prefix, d.Sentences)...)
		out.Notes = append(out.Notes, prefixed(prefix, append(d.Notes, a.Layout.Doubts()...))...)
		out.Warnings = append(out.Warnings, prefixed(prefix, d.Warnings)...)
		if a.Report != nil {
			out.Warnings = append(out.Warnings, prefixed(prefix, a.Report.Warnings)...)
		}
	}
	return out.Write(w)
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
