package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
)

// PreviewRow is one row as it stands and as it would be taken.
type PreviewRow struct {
	Line   int                `json:"line,omitempty"` // 0: near the end, not counted
	Cells  []string           `json:"cells"`
	TimeS  *float64           `json:"time_s,omitempty"`
	Values map[string]float64 `json:"values,omitempty"` // by role, in base units; missing ones absent
}

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

// headRows and tailRows are how many rows a preview shows.
const (
	headRows = 20
	tailRows = 5
)

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

// openSample finds the format and the encoding and samples the source.
func openSample(src Source, wanted []ColumnSpec, over Override, lay *Layout) (*sample, error) {
	head, err := readHead(src)
	if err != nil {
		return nil, err
	}
	if len(bytes.TrimSpace(bytes.TrimPrefix(head, bomUTF8))) == 0 {
		return nil, refuse(Problem{File: src.Name, Found: "an empty file", Expected: "a log with readings"})
	}
	if bytes.HasPrefix(head, []byte("PK\x03\x04")) {
		return openSpreadsheet(src, wanted, over, lay)
	}
	lay.Format = sure(FormatText, "it is text")
	lay.Encoding = guessEncoding(head)
	if over.Encoding != "" {
		lay.Encoding = given(over.Encoding)
	}
	if !strings.HasPrefix(lay.Encoding.Value, "utf-16") {
		if err := notText(src.Name, head); err != nil {
			return nil, err
		}
	}
	return sampleText(src, lay.Encoding.Value)
}

func readHead(src Source) ([]byte, error) {
	f, err := src.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	head, err := io.ReadAll(io.LimitReader(f, 64<<10))
	if err != nil {
		return nil, refuse(Problem{File: src.Name, Found: "the file could not be read: " + err.Error()})
	}
	return head, nil
}

// openSpreadsheet tells the two formats apart and samples the sheet named, else
// the first one with numbers in it.
func openSpreadsheet(src Source, wanted []ColumnSpec, over Override, lay *Layout) (*sample, error) {
	format, names, err := sheetNames(src)
	if err != nil {
		return nil, err
	}
	lay.Format = sure(format, "the file is a spreadsheet")
	lay.Encoding = sure("utf-8", "spreadsheets always are")
	lay.Sheets = names
	lay.Separator = sure(SepCells, "a spreadsheet has cells")
	if over.Sheet != "" {
		lay.Sheet = given(over.Sheet)
		return sampleSheet(src, lay)
	}
	var first *sample
	for i, name := range names[:min(len(names), 20)] {
		lay.Sheet = sure(name, "it is the only sheet")
		if len(names) > 1 {
			lay.Sheet = unsure(name, fmt.Sprintf("it is the first of %d sheets that holds numbers", len(names)))
		}
		s, err := sampleSheet(src, lay)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			first = s
		}
		d := dialect{separator: SepCells, decimal: MarkPoint, thousands: MarkNone}
		if d.judge(cut(s.head, d.layout())); d.first >= 0 {
			return s, nil
		}
	}
	lay.Sheet.Value = names[0]
	return first, nil
}

// sheetNames says which spreadsheet format a zip file is and which sheets it has.
func sheetNames(src Source) (format string, names []string, err error) {
	f, err := src.Open()
	if err != nil {
		return "", nil, err
	}
	defer f.Close()
	data, err := sheetBytes(f, src)
	if err != nil {
		return "", nil, err
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return "", nil, broken(src.Name, err)
	}
	var book workbookXML
	if decodeMember(z, "xl/workbook.xml", &book) == nil {
		for _, s := range book.Sheets {
			names = append(names, s.Name)
		}
		format = FormatXLSX
	} else {
		format = FormatODS
		if names, err = odsNames(src.Name, z); err != nil {
			return "", nil, err
		}
	}
	if len(names) == 0 {
		return "", nil, refuse(Problem{File: src.Name, Found: "a packed file without a table in it", Expected: "a log as text, .xlsx or .ods",
			Advice: "unpack it first"})
	}
	return format, names, nil
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

// commentMarks are what comment lines begin with, in order of preference.
var commentMarks = []string{"#", "%", "//", "!", ";", "*", "'", "\""}

// splitComments parts comment lines from the others, blank lines left out.
func splitComments(s *sample, over Override, lay *Layout) (body, comments []sampleRow) {
	lay.Comment = sure("#", "the usual mark; no line has another")
	if over.Comment != "" {
		lay.Comment = given(over.Comment)
	} else if len(s.head) > 0 && !s.sheet {
		first := trim(s.head[0].raw)
		for _, m := range commentMarks {
			if bytes.HasPrefix(first, []byte(m)) && (m == "#" || looksLikeWords(first, m)) {
				lay.Comment = sure(m, "the first line begins with it")
				break
			}
		}
	}
	for _, r := range s.head {
		text := trim(r.raw)
		if r.raw == nil && len(r.cells) > 0 {
			text = r.cells[0]
		}
		switch {
		case r.raw != nil && len(text) == 0, r.raw == nil && blankCells(r.cells):
		case bytes.HasPrefix(text, []byte(lay.Comment.Value)):
			if r.raw == nil {
				r.raw = bytes.Join(r.cells, []byte(" "))
			}
			comments = append(comments, r)
		default:
			body = append(body, r)
		}
	}
	return body, comments
}

// looksLikeWords says that a line beginning with a doubtful comment mark is one
// comment and not a row whose first cell is empty or quoted.
func looksLikeWords(line []byte, mark string) bool {
	rest := line[len(mark):]
	if mark == "\"" {
		return bytes.IndexByte(rest, '"') < 0
	}
	return bytes.IndexByte(rest, ';') < 0 && len(rest) > 0 && bytes.ContainsFunc(rest, func(r rune) bool { return r < 0x80 && isLetter(byte(r)) })
}

func trimComments(rows []sampleRow, lay *Layout) []sampleRow {
	return slices.DeleteFunc(slices.Clone(rows), func(r sampleRow) bool {
		return r.raw != nil && (len(trim(r.raw)) == 0 || bytes.HasPrefix(trim(r.raw), []byte(lay.Comment.Value)))
	})
}

// noReadings says why no line can be read as a row of numbers.
func noReadings(src Source, body, comments []sampleRow) Problem {
	p := Problem{File: src.Name, Found: "only comment lines", Expected: "rows of numbers"}
	if len(body) > 0 {
		first := body[0].raw
		if first == nil {
			first = bytes.Join(body[0].cells, []byte(" "))
		}
		p.Line, p.Found = body[0].line, "no row of numbers; the first line is "+quote(first)
		p.Advice = "say how the lines are made with separator, decimal and skip"
	} else if len(comments) == 0 {
		p.Found = "no readings"
	}
	return p
}

// moments settles the spacing, the start and the order of dates.
func (p *Preview) moments(a *assigner, wanted []ColumnSpec, over Override, comments, preamble []sampleRow) {
	lay := &p.Layout
	c := lay.Column(RoleTime)
	wantsTime := slices.ContainsFunc(wanted, func(s ColumnSpec) bool { return s.ID == RoleTime })
	if wantsTime && (c == nil || c.TimeForm.Value == TimeIndex) {
		lay.SpacingS, lay.Spacing = 1, unsure("1 s", "no time is given; one reading a second is the usual counter log")
		if over.Spacing != "" {
			lay.SpacingS, _ = parseSpacing(over.Spacing)
			lay.Spacing = given(over.Spacing)
		}
	}
	if over.Start != "" {
		lay.Start = given(over.Start)
	} else if c != nil && (c.TimeForm.Value == TimeNumber || c.TimeForm.Value == TimeElapsed || c.TimeForm.Value == TimeElapsedHM) {
		lay.Start = startIn(append(slices.Clone(comments), preamble...))
	}
	if m, err := parseStart(lay.Start.Value); err == nil && m.hasDate {
		t := m.stamp.moment()
		lay.StartTime = &t
	}
	for _, c := range lay.Columns {
		if c.Role.Value == RoleTime && c.TimeForm.Value == TimeStamp || c.Role.Value == RoleDate {
			lay.DateOrder = dateOrderOf(a.ev[c.Number-1].cells, over)
		}
	}
}

// startIn looks for a moment of start in the lines above the readings.
func startIn(lines []sampleRow) Guess {
	for _, r := range lines {
		m := startNote.FindSubmatch(r.raw)
		if m == nil {
			continue
		}
		if _, took := scanStamp(m[1], dayFirst, false); took > 0 {
			return unsure(string(m[1][:took]), "line "+itoa(r.line)+" says so")
		}
	}
	return Guess{}
}

// dateOrderOf finds the order of day, month and year: a number above 12 decides.
func dateOrderOf(cells [][]byte, over Override) Guess {
	if over.DateOrder != "" {
		return given(over.DateOrder)
	}
	fits := map[dateOrder]int{}
	forwards := map[dateOrder]bool{}
	for _, o := range []dateOrder{dayFirst, monthFirst} {
		last := int64(math.MinInt64)
		forwards[o] = true
		for _, c := range cells {
			if s, took := scanStamp(c, o, true); took > 0 {
				fits[o]++
				forwards[o] = forwards[o] && s.unix >= last
				last = s.unix
			}
		}
	}
	digits := 0
	if len(cells) > 0 {
		_, digits = scanInt(cells[0])
	}
	yearFirst := digits >= 4
	pointed := len(cells) > 0 && bytes.IndexByte(cells[0][:min(3, len(cells[0]))], '.') > 0
	switch {
	case yearFirst:
		return sure(string(dayFirst), "dates begin with the year")
	case fits[dayFirst] > fits[monthFirst]:
		return sure(string(dayFirst), "only so are all dates possible")
	case fits[monthFirst] > fits[dayFirst]:
		return sure(string(monthFirst), "only so are all dates possible")
	case pointed:
		return sure(string(dayFirst), "dates with points begin with the day")
	case forwards[monthFirst] && !forwards[dayFirst]:
		return unsure(string(monthFirst), "only so does time run forwards")
	}
	return unsure(string(dayFirst), "both orders are possible; the day is taken first")
}

// roles checks that overrides name roles and columns that exist, and notes what
// is lacking.
func (p *Preview) roles(src Source, wanted []ColumnSpec, over Override) error {
	known := []string{RoleIgnore, RoleDate}
	for _, s := range wanted {
		known = append(known, s.ID)
		if s.Required && s.ID != RoleTime && p.Layout.Column(s.ID) == nil {
			p.Lacking = append(p.Lacking, s.Title)
		}
	}
	if over.Time != "" && slices.Contains(known, RoleTime) && p.Layout.Column(RoleTime) == nil {
		return refuse(Problem{File: src.Name, Found: "no column of times", Expected: "one, as you said how to read it", Advice: "say which it is with column 1=time"})
	}
	used := map[string]int{}
	for n, c := range over.Columns {
		if other := used[c.Role]; other > 0 && c.Role != RoleIgnore && c.Role != "" {
			return fmt.Errorf("columns %d and %d are both said to be %s", min(n, other), max(n, other), c.Role)
		}
		used[c.Role] = n
		if n > len(p.Layout.Columns) {
			return refuse(Problem{File: src.Name, Found: count(len(p.Layout.Columns), "column", "columns"), Expected: "a column " + itoa(n) + ", as you said"})
		}
		if c.Role != "" && !slices.Contains(known, c.Role) {
			return fmt.Errorf("column %d: there is no role %q here; expected one of %s", n, c.Role, strings.Join(known, ", "))
		}
		i := slices.IndexFunc(wanted, func(s ColumnSpec) bool { return s.ID == c.Role })
		if i >= 0 && c.Unit != "" && c.Role != RoleTime {
			if u, ok := lookUpUnit(c.Unit, ""); !ok || !slices.Contains(wanted[i].Units, u.base) {
				return fmt.Errorf("column %d: %s cannot be in %q", n, wanted[i].Title, c.Unit)
			}
		}
	}
	return nil
}

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
