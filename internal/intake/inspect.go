package intake

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Preview is what a source looks like by the layout that was found.
type Preview struct {
	Layout Layout       `json:"layout"`
	Head   []PreviewRow `json:"head"`           // first rows of readings
	Tail   []PreviewRow `json:"tail,omitempty"` // last rows
	Lines  int          `json:"lines"`          // lines in all
	Exact  bool         `json:"exact"`          // Lines was counted, not estimated
	Doubts []string     `json:"doubts,omitempty"`
	Report *Report      `json:"report,omitempty"` // of the rows looked at
	// Problems are those among the rows looked at; Read checks every row.
	Problems *Problems `json:"problems,omitempty"`
	// Lacking are the titles of required columns that were not found.
	Lacking []string `json:"lacking,omitempty"`
}

// Inspect looks at a source and finds the layout by which it would be read for a
// caller that wants the given columns. What the user fixed by over is taken as
// said. The error is about the source or the override as a whole; rows that do
// not fit are problems of the preview.
func Inspect(src Source, wanted []ColumnSpec, over Override) (*Preview, error) {
	if err := checkSpecs(wanted); err != nil {
		return nil, err
	}
	if err := over.check(); err != nil {
		return nil, err
	}
	p := &Preview{}
	s, err := openSample(src, wanted, over, &p.Layout)
	if err != nil {
		return nil, err
	}
	if err := p.layOut(src, s, wanted, over); err != nil {
		return nil, err
	}
	p.show(src, s)
	return p, nil
}

// checkSpecs refuses a caller's mistake.
func checkSpecs(wanted []ColumnSpec) error {
	for _, s := range wanted {
		if s.ID == "" || s.ID == RoleDate || s.ID == RoleIgnore || len(s.Units) == 0 {
			return fmt.Errorf("intake: column spec %q lacks an id of its own or a unit", s.ID)
		}
		for _, u := range s.Units {
			if b, ok := lookUpUnit(u, ""); !ok || b.base != u {
				return fmt.Errorf("intake: column spec %q: %q is no base unit", s.ID, u)
			}
		}
	}
	return nil
}

// layOut finds the dialect, the headings and the roles.
func (p *Preview) layOut(src Source, s *sample, wanted []ColumnSpec, over Override) error {
	lay := &p.Layout
	p.Lines, p.Exact = s.rows, s.exact
	lay.Missing = over.Missing
	body, comments := splitComments(s, over, lay)
	d, t := p.dialect(body, over)
	if d.columns > maxColumns {
		return tooWide(src.Name, body[0].line, d.columns)
	}
	if d.first < 0 {
		return refuse(noReadings(src, body, comments))
	}
	d.widen(t)
	d.describe(lay, t, over)
	if s.sheet {
		lay.Separator = sure(SepCells, "a spreadsheet has cells")
	}
	heads := headings(body, comments, t, &d, lay)
	lay.FirstDataLine = body[d.first].line
	f := lay.numFormat()
	ev := gather(t, d.first, heads, f)
	tail := cut(trimComments(s.tail, lay), lay)
	for j, more := range gather(tail, 0, heads, f) {
		ev[j].add(more)
	}
	a := &assigner{lay: lay, ev: ev, wanted: wanted, over: over}
	a.run()
	p.moments(a, wanted, over, comments, body[:d.first])
	return p.roles(src, wanted, over)
}

// add joins the evidence from the end of a log to that from its beginning.
func (e *evidence) add(more evidence) {
	for k, n := range more.counts {
		e.counts[k] += n
	}
	e.filled += more.filled
	e.values = append(e.values, more.values...)
	e.cells = append(e.cells, more.cells...)
	for u, n := range more.units {
		e.units[u] += n
	}
}

// dialect finds the dialect of the lines that are not skipped.
func (p *Preview) dialect(body []sampleRow, over Override) (dialect, table) {
	if len(body) > 0 && body[0].raw == nil {
		over.Separator = SepCells
	}
	skipped := 0
	for skipped < len(body) && body[skipped].line <= over.Skip {
		skipped++
	}
	d, t := pickDialect(body[skipped:], over)
	if skipped == 0 || d.first < 0 {
		return d, t
	}
	d.first += skipped
	above := cut(body[:skipped], d.layout())
	t.cells = append(above.cells, t.cells...)
	t.kinds = append(above.kinds, t.kinds...)
	return d, t
}

// noReadings says why no line can be read as a row of numbers.
func noReadings(src Source, body, comments []sampleRow) Problem {
	p := Problem{File: src.Name, Found: "only comment lines", Expected: "rows of numbers"}
	if len(body) > 0 {
		first := body[0].raw
		if first == nil {
			first = bytes.Join(body[0].cells, []byte(" "))
		}
		p.Line, p.Found = body[0].line, "no row of numbers (the first line is "+quote(first)+")"
		p.Advice = "if there are readings in it, say how the lines are made (--separator, --decimal, --skip)"
	} else if len(comments) == 0 {
		p.Found = "no readings"
	}
	return p
}

// roles checks that overrides name roles and columns that exist, and notes what
// is lacking.
func (p *Preview) roles(src Source, wanted []ColumnSpec, over Override) error {
	known := []string{RoleIgnore, RoleDate}
	for _, s := range wanted {
		known = append(known, s.ID)
		if s.ID == RoleTime && over.Spacing == "" {
			p.lackTime(s)
		}
		if s.Required && s.ID != RoleTime && p.Layout.Column(s.ID) == nil {
			p.Lacking = append(p.Lacking, s.Title)
		}
	}
	if over.Time != "" && slices.Contains(known, RoleTime) && p.Layout.Column(RoleTime) == nil {
		return refuse(Problem{File: src.Name, Found: "no column of times", Expected: "one, as you said how to read it", Advice: "say which it is (--column 1=time)"})
	}
	used := map[string]int{}
	for _, n := range slices.Sorted(maps.Keys(over.Columns)) {
		c := over.Columns[n]
		if other := used[c.Role]; other > 0 && c.Role != RoleIgnore && c.Role != "" {
			return wrongOverride("columns %d and %d are both said to be %s", min(n, other), max(n, other), c.Role)
		}
		used[c.Role] = n
		if n > len(p.Layout.Columns) {
			return refuse(Problem{File: src.Name, Found: count(len(p.Layout.Columns), "column", "columns"), Expected: "a column " + itoa(n) + ", as you said"})
		}
		if c.Role != "" && !slices.Contains(known, c.Role) {
			return wrongOverride("column %d: there is no role %q here; expected one of %s", n, c.Role, strings.Join(known, ", "))
		}
		i := slices.IndexFunc(wanted, func(s ColumnSpec) bool { return s.ID == c.Role })
		if i >= 0 && c.Unit != "" && c.Role != RoleTime {
			if u, ok := lookUpUnit(c.Unit, ""); !ok || !slices.Contains(wanted[i].Units, u.base) {
				return wrongOverride("column %d: %s cannot be in %q", n, wanted[i].Title, c.Unit)
			}
		}
	}
	return nil
}

// lackTime notes a column that is headed as times but holds none that are
// understood: readings evenly spaced would then be a poor guess.
func (p *Preview) lackTime(s ColumnSpec) {
	if p.Layout.Column(RoleTime) != nil {
		return
	}
	for _, c := range p.Layout.Columns {
		if c.Header != "" && headerScore(strings.ToLower(c.Header), s.Aliases) == 3 {
			p.Lacking = append(p.Lacking, fmt.Sprintf("%s (%s is headed so, but its cells are not understood)", s.Title, columnLabel(c)))
			return
		}
	}
}
