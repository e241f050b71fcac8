package intake

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxProblems is how many problems are kept in full; the rest are counted.
const maxProblems = 10

// Problem is one place in a source that cannot be read, in words for a person.
// Line and Column count from 1; 0 means that the problem has no such place.
// Place is another kind of place: "byte 24" of a recording.
type Problem struct {
	File       string `json:"file"`
	Place      string `json:"place,omitempty"`
	Line       int    `json:"line,omitempty"`
	Column     int    `json:"column,omitempty"`
	ColumnName string `json:"column_name,omitempty"`
	Found      string `json:"found"`
	Expected   string `json:"expected,omitempty"`
	Advice     string `json:"advice,omitempty"`
}

// Error gives the problem as one line: where, what was found, what was
// expected, what to do.
func (p Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Place != "" {
		b.WriteString(", " + p.Place)
	}
	if p.Line > 0 {
		fmt.Fprintf(&b, ", line %d", p.Line)
	}
	if p.Column > 0 {
		fmt.Fprintf(&b, ", column %d", p.Column)
	}
	if p.ColumnName != "" {
		fmt.Fprintf(&b, " (%s)", p.ColumnName)
	}
	b.WriteString(": ")
	if p.Expected != "" {
		b.WriteString("found ")
	}
	b.WriteString(p.Found)
	if p.Expected != "" {
		b.WriteString(", expected ")
		b.WriteString(p.Expected)
	}
	if p.Advice != "" {
		b.WriteString(joining(p.Advice))
		b.WriteString(p.Advice)
	}
	return b.String()
}

// joining is what stands before advice: whole sentences follow a full stop.
func joining(advice string) string {
	if r, _ := utf8.DecodeRuneInString(advice); unicode.IsUpper(r) {
		return ". "
	}
	return "; "
}

// Problems gathers problems: the first ten in full and the number of all.
type Problems struct {
	List  []Problem `json:"list,omitempty"`
	Total int       `json:"total"`
}

// Error gives one line a problem and, past ten, how many more there are.
func (p *Problems) Error() string {
	lines := make([]string, 0, len(p.List)+1)
	for _, one := range p.List {
		lines = append(lines, one.Error())
	}
	if more := p.Total - len(p.List); more > 0 {
		lines = append(lines, fmt.Sprintf("and %d more like these", more))
	}
	return strings.Join(lines, "\n")
}

// add notes a problem.
func (p *Problems) add(one Problem) {
	p.Total++
	if len(p.List) < maxProblems {
		p.List = append(p.List, one)
	}
}

// err is p when it holds anything, else nil.
func (p *Problems) err() error {
	if p.Total == 0 {
		return nil
	}
	return p
}

// refuse makes an error of a single problem.
func refuse(one Problem) error {
	p := &Problems{}
	p.add(one)
	return p
}

// quote shows text that was found: in quotes, made printable, cut to length.
func quote[T string | []byte](raw T) string {
	const longest = 40
	s := string(raw[:min(len(raw), 4*longest+8)])
	runes := []rune(strings.ToValidUTF8(s, "\uFFFD"))
	cut := len(runes) > longest || len(s) < len(raw)
	if len(runes) > longest {
		runes = runes[:longest]
	}
	for i, r := range runes {
		if r < ' ' || r == 0x7f {
			runes[i] = ' '
		}
	}
	out := string(runes)
	if cut {
		out += "…"
	}
	return `"` + out + `"`
}
