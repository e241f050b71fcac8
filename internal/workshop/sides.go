package workshop

import (
	"context"
	"io"
	"sort"

	"setwright/internal/measure"
	"setwright/judge"
)

// Sides lists what can be compared: every set, configuration and state that has
// a state to it, sets first within each set.
func (s *Shop) Sides(ctx context.Context) ([]Target, error) {
	all, err := s.targets(ctx)
	if err != nil {
		return nil, err
	}
	var out []Target
	for _, t := range all {
		if len(t.States) > 0 {
			out = append(out, t)
		}
	}
	return out, nil
}

// AppliedWords says under which options every run of the comparison was looked
// at, so that they can be compared.
func (c Comparison) AppliedWords() []string {
	var out []string
	for _, o := range c.About.Options {
		text := c.Applied[o.Name]
		if text == "" {
			continue
		}
		if x, err := measure.ParseNumber(text, o.Unit); o.Unit != "" && err == nil {
			text = toldIn(x, o.Unit)
			if o.Name == horizon {
				out = append(out, "the "+horizonWords(x))
				continue
			}
		}
		out = append(out, o.Title+" "+text)
	}
	sort.Strings(out)
	return out
}

// ComparisonDocument is a comparison as one JSON object.
type ComparisonDocument struct {
	A         string            `json:"a"`
	B         string            `json:"b"`
	Fair      bool              `json:"comparable"`
	Findings  []string          `json:"findings"`
	Applied   map[string]string `json:"applied,omitempty"`
	Sentences []string          `json:"sentences"`
	Verdicts  []VerdictDocument `json:"verdicts"`
	Notes     []string          `json:"notes"`
	Warnings  []string          `json:"warnings"`
}

// VerdictDocument is one verdict with the figure it is said of.
type VerdictDocument struct {
	Figure     string            `json:"figure"`
	Conditions map[string]string `json:"conditions,omitempty"`
	judge.Verdict
	RunsNeeded int `json:"runs_needed"`
}

// Document makes the document of a comparison.
func (c Comparison) Document() ComparisonDocument {
	out := ComparisonDocument{
		A: c.A.Selector, B: c.B.Selector, Fair: !c.Fairness.Blocked, Applied: c.Applied, Sentences: c.Sentences,
		Findings: []string{}, Verdicts: []VerdictDocument{}, Notes: append([]string{}, c.Notes...), Warnings: append([]string{}, c.Warnings...),
	}
	for _, f := range c.Fairness.Findings {
		out.Findings = append(out.Findings, f.Text)
	}
	for _, row := range c.Rows {
		n := row.Verdict.Needed
		out.Verdicts = append(out.Verdicts, VerdictDocument{row.Spec.ID, row.Conditions, row.Verdict, max(n.MoreA, n.MoreB)})
	}
	return out
}

// Write writes the document as indented JSON.
func (d ComparisonDocument) Write(w io.Writer) error { return writeJSON(w, d) }
