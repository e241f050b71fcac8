package intake

import (
	"errors"
	"io"
	"math"
)

// PreviewRow is one row as it stands and as it would be taken.
type PreviewRow struct {
	Line   int                `json:"line,omitempty"` // 0: near the end, not counted
	Cells  []string           `json:"cells"`
	TimeS  *float64           `json:"time_s,omitempty"`
	Values map[string]float64 `json:"values,omitempty"` // by role, in base units; missing ones absent
}

// headRows and tailRows are how many rows a preview shows.
const (
	headRows = 20
	tailRows = 5
)

// show interprets the rows looked at, by the same code as the import.
func (p *Preview) show(src Source, s *sample) {
	p.Head, p.Report, p.Problems = p.interpret(src, s.head, false)
	if len(s.tail) > 0 {
		tail := trimComments(s.tail, &p.Layout)
		p.Tail, _, _ = p.interpret(src, tail[max(0, len(tail)-tailRows):], true)
	} else if n := len(p.Head); n > headRows {
		p.Tail = p.Head[max(headRows, n-tailRows):]
	}
	p.Head = p.Head[:min(len(p.Head), headRows)]
	p.Doubts = p.Layout.Doubts()
}

// interpret shows rows as they stand and as they are taken. The times of rows at
// the end that count from the first row are left out: it is not among them.
func (p *Preview) interpret(src Source, rows []sampleRow, atEnd bool) ([]PreviewRow, *Report, *Problems) {
	lay := p.Layout
	if atEnd {
		lay.FirstDataLine = 0
	}
	in := newInterpreter(src.Name, &lay)
	r := replay(rows, &lay)
	var out []PreviewRow
	for {
		at, err := r.next()
		if errors.Is(err, io.EOF) {
			break
		}
		before, wrong := in.rep.Rows, in.problems.Total
		in.row(r, at)
		if in.rep.Rows == before && in.problems.Total == wrong {
			continue
		}
		shown := PreviewRow{Line: at.line}
		for _, c := range r.cells() {
			shown.Cells = append(shown.Cells, string(c))
		}
		if in.rep.Rows > before {
			in.last(&shown, atEnd)
		}
		out = append(out, shown)
	}
	in.finish()
	var problems *Problems
	if in.problems.Total > 0 {
		problems = &in.problems
	}
	return out, in.rep, problems
}

// last copies the last row of the batch into a preview row.
func (in *interpreter) last(shown *PreviewRow, atEnd bool) {
	i := in.batch.Len() - 1
	shown.Values = map[string]float64{}
	for j := range in.columns {
		if v := in.batch.Columns[j][i]; !math.IsNaN(v) {
			shown.Values[in.columns[j].rep.Role] = v
		}
	}
	if in.time == nil {
		return
	}
	counts := in.time.form == TimeNumber || in.time.form == TimeElapsed || in.time.form == TimeElapsedHM
	if t := in.batch.Time[i]; counts || !atEnd {
		shown.TimeS = &t
	}
}
