package main

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
)

// table is all that a run found.
type table struct {
	Heading string
	Entries []entry
}

// entry is one workload: its lines, or why there are none.
type entry struct {
	ID, Title, Tool string
	Note            string // how well the figures agree, or what is missing
	Err             error
	Lines           []line
}

// line is one figure, as printed.
type line struct {
	Figure, Ratio, Range, Aim, Met string
}

// String writes the table as text.
func (t table) String() string {
	var out bytes.Buffer
	fmt.Fprintf(&out, "Ratios ours/tool, the middle of each side's runs. %s.\n\n", t.Heading)
	w := tabwriter.NewWriter(&out, 0, 8, 2, ' ', 0)
	fmt.Fprintln(w, "id\tagainst\tfigure\tours/tool\trounds, or amounts\taim\tmet")
	for _, e := range t.Entries {
		for _, l := range e.Lines {
			fmt.Fprintln(w, strings.Join([]string{e.ID, e.Tool, l.Figure, l.Ratio, l.Range, l.Aim, l.Met}, "\t"))
		}
		if len(e.Lines) == 0 {
			fmt.Fprintf(w, "%s\t%s\t%s\n", e.ID, e.Tool, e.why())
		}
	}
	w.Flush()
	fmt.Fprintf(&out, "\n%s\n\n", t.count())
	for _, e := range t.Entries {
		fmt.Fprintf(&out, "%-4s %s; %s\n", e.ID, e.Title, e.why())
	}
	return out.String()
}

// why says how the figures agree, or why there are none.
func (e entry) why() string {
	if e.Err != nil {
		return "no ratio: " + strings.Join(strings.Fields(e.Err.Error()), " ")
	}
	return e.Note
}

// count sums the verdicts up.
func (t table) count() string {
	var aims, yes, apart int
	for _, e := range t.Entries {
		if len(e.Lines) == 0 {
			apart++
		}
		for _, l := range e.Lines {
			if l.Met == "-" {
				continue
			}
			aims++
			if strings.HasPrefix(l.Met, "yes") {
				yes++
			}
		}
	}
	return fmt.Sprintf("%d of %d aims met; %d of %d workloads without a ratio.", yes, aims, apart, len(t.Entries))
}

// Failure tells of workloads that failed; a tool that is missing is no failure,
// nor is an aim that is missed.
func (t table) Failure() error {
	var out []error
	for _, e := range t.Entries {
		if e.Err != nil {
			out = append(out, fmt.Errorf("%s: %w", e.ID, e.Err))
		}
	}
	return errors.Join(out...)
}
