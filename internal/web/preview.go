package web

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/report"
	"setwright/internal/run"
)

// previewPage shows how a file would be read, to be put right before anything
// is stored.
type previewPage struct {
	Page
	File, Size  string
	Problem     string
	Said        string // how it is read, in a sentence
	Preview     *intake.Preview
	Items       []layoutItem
	Columns     []columnItem
	Rows        []previewRow
	Problems    []intake.Problem
	More        int
	Ready       bool // it can be stored
	Hidden      []Field
	About       []Field // what is asked of the run
	Conditions  []Field
	Instruments []instrumentChoice
}

// layoutItem is one item of a layout with its choices.
type layoutItem struct {
	Field
	Guess intake.Guess
	Was   string // as shown, so that a change can be told from a guess
}

// columnItem is one column with what it may be.
type columnItem struct {
	Number     int
	Header     string
	Sample     []string
	Role, Unit layoutItem
}

// previewRow is a row as it stands and as it is read.
type previewRow struct {
	Line   int
	Cells  []string
	Values []string
}

type instrumentChoice struct {
	ID, Text string
	Checked  bool
}

// previewFirst shows a staged file for the first time.
func (s *Server) previewFirst(w http.ResponseWriter, r *http.Request) error {
	files, sound, err := s.stagedSound(r.URL.Query())
	if err != nil {
		return err
	}
	if sound {
		return s.soundPreview(w, r, r.URL.Query(), files, "")
	}
	return s.previewWith(w, r, r.URL.Query(), "")
}

// previewAgain shows it with corrections.
func (s *Server) previewAgain(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	return s.previewWith(w, r, form, "")
}

// previewWith shows a preview by what the form says; problem is what was wrong
// with the form.
func (s *Server) previewWith(w http.ResponseWriter, r *http.Request, form url.Values, problem string) error {
	st, err := s.stage.get(form.Get("file"))
	if err != nil {
		return err
	}
	if form.Get("measurement") == "" {
		form.Set("measurement", s.shop.Registry.Usual())
	}
	m, err := s.shop.Registry.Get(form.Get("measurement"))
	if err != nil {
		return err
	}
	src, err := st.source()
	if err != nil {
		return err
	}
	over, err := overrideOf(form)
	if err != nil {
		problem, over = answerOf(err).text, intake.Override{}
	}
	preview, err := s.shop.Preview(form.Get("measurement"), src, over)
	if err != nil {
		s.stage.drop(st.Token)
		return err
	}
	p := previewPage{Page: Page{Title: "How this file is read", Nav: "import", Where: []Link{{"Import", "/import"}}},
		File: st.Name, Size: report.Count(int(st.Size), "byte", "bytes"), Problem: problem, Preview: preview}
	if problem != "" {
		p.Status = http.StatusUnprocessableEntity
	}
	p.fill(m.About(), form)
	if p.About, err = s.aboutFields(r, form, m.About(), preview); err != nil {
		return err
	}
	if p.Instruments, err = s.instrumentChoices(r, form); err != nil {
		return err
	}
	return s.show(w, r, "preview", p)
}

// fill writes the preview into the page.
func (p *previewPage) fill(about measure.About, form url.Values) {
	lay := p.Preview.Layout
	p.Items = layoutItems(lay)
	have := map[string]bool{}
	for _, c := range lay.Columns {
		p.Columns = append(p.Columns, columnOf(c, about))
		have[c.Role.Value] = true
	}
	p.Rows = previewRows(p.Preview)
	if problems := p.Preview.Problems; problems != nil {
		p.Problems, p.More = problems.List, problems.Total-len(problems.List)
	}
	p.Ready = len(p.Problems) == 0 && len(p.Preview.Lacking) == 0
	p.Said = saidOf(p.Preview)
	p.Hidden = []Field{{Name: "file", Value: form.Get("file")}, {Name: "measurement", Value: about.ID}}
	p.Conditions = fill(conditionFields(about, have), form)
}

// saidOf says in a sentence how the file is read.
func saidOf(p *intake.Preview) string {
	var cols []string
	for _, c := range p.Layout.Columns {
		switch c.Role.Value {
		case "", intake.RoleIgnore:
		case intake.RoleTime, intake.RoleDate:
			what := formWords[c.TimeForm.Value]
			if c.TimeForm.Value == intake.TimeNumber && c.Unit.Value != "" {
				what = "in " + c.Unit.Value
			}
			cols = append(cols, strings.TrimSpace(c.Role.Value+" "+what))
		default:
			text := conditionLabel(c.Role.Value)
			if c.Unit.Value != "" {
				text += " in " + c.Unit.Value
			}
			cols = append(cols, text)
		}
	}
	about := "about "
	if p.Exact {
		about = ""
	}
	text := about + report.Count(p.Lines, "line", "lines")
	if len(cols) > 0 {
		text += ": " + strings.Join(cols, ", ")
	}
	if p.Layout.Decimal.Value == intake.MarkComma {
		text += "; decimal commas"
	}
	return sentence(text)
}

// aboutFields ask for what every run has.
func (s *Server) aboutFields(r *http.Request, form url.Values, about measure.About, preview *intake.Preview) ([]Field, error) {
	states, err := s.stateChoices(r.Context())
	if err != nil {
		return nil, err
	}
	started := ""
	if preview.Report != nil && preview.Report.Start != nil {
		started = dayField(*preview.Report.Start)
	}
	fields := []Field{
		{Name: "state", Label: "State of the set", Kind: "select", Choices: states, Wide: true},
		{Name: "started", Label: "Day and time", Kind: "moment", Value: started, Help: "Taken from the file where it says so. The day lets runs of one day be paired."},
		{Name: "title", Label: "Title", Help: "The measurement and the day, if nothing is said."},
		{Name: "operator", Label: "Read by"},
		{Name: "notes", Label: "What happened during the run", Kind: "area", Wide: true, Help: "A knock, a door, another set switched on."},
	}
	for _, o := range about.Options {
		if o.Name == "power_on" {
			f := optionField(o)
			f.Help = "On the time scale of the file, such as 0 s or 19:05:00. Empty: where elapsed times count from it, their zero, else the first reading."
			fields = append(fields[:2], append([]Field{f}, fields[2:]...)...)
		}
	}
	return fill(fields, form), nil
}

func (s *Server) instrumentChoices(r *http.Request, form url.Values) ([]instrumentChoice, error) {
	all, err := s.shop.Book.Instruments(r.Context())
	if err != nil {
		return nil, err
	}
	chosen := map[string]bool{}
	for _, id := range form["instrument"] {
		chosen[id] = true
	}
	seen := map[string]run.Instrument{}
	for _, in := range all {
		seen[in.ID] = in
	}
	var out []instrumentChoice
	for id, in := range seen {
		out = append(out, instrumentChoice{id, in.Name + ", reads " + conditionLabel(in.Reads), chosen[id]})
	}
	slices.SortFunc(out, func(a, b instrumentChoice) int { return cmp.Or(cmp.Compare(a.Text, b.Text), cmp.Compare(a.ID, b.ID)) })
	return out, nil
}

// previewRows are the first and last rows, as they stand and as they are read.
func previewRows(p *intake.Preview) []previewRow {
	var out []previewRow
	for _, row := range firstAndLast(p) {
		line := previewRow{Line: row.Line, Cells: row.Cells}
		for i, c := range p.Layout.Columns {
			if i >= len(row.Cells) {
				break
			}
			text := ""
			if x, ok := row.Values[c.Role.Value]; ok {
				text = exact(x, c.BaseUnit)
			}
			if c.Role.Value == intake.RoleTime && row.TimeS != nil {
				text = exact(*row.TimeS, "s")
			}
			line.Values = append(line.Values, text)
		}
		out = append(out, line)
	}
	return out
}

// firstAndLast picks the first eight rows and the last three.
func firstAndLast(p *intake.Preview) []intake.PreviewRow {
	all := append(append([]intake.PreviewRow(nil), p.Head...), p.Tail...)
	if len(all) <= 11 {
		return all
	}
	return append(all[:8:8], all[len(all)-3:]...)
}

// column is the name of a form entry of a column.
func column(n int, what string) string { return "c" + strconv.Itoa(n) + " " + what }
