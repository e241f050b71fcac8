package web

import (
	"context"
	"errors"
	"math"
	"mime"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/report"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// sheetRows is how many readings a run page shows at a time.
const sheetRows = 60

// runPage is a run with what its measurement makes of it.
type runPage struct {
	Page
	workshop.Result
	Refused string // why there are no figures
	Hidden  string // why the run is hidden
	Wrong   string // why an amendment was not noted
	Main    *measure.Plot
	Further []measure.Plot
	Figures []figureRow
	Groups  []figureGroup
	Shared  []string // conditions that all figures have
	Facts   []fact
	Sheet   sheetView
	Forms   map[string]Form
}

// fact is a line of a list of facts.
type fact struct{ Name, Text string }

// run shows a run.
func (s *Server) run(w http.ResponseWriter, r *http.Request) error {
	p, err := s.runPage(r.Context(), r.PathValue("id"), r.URL.Query().Get("from"))
	if err != nil {
		return err
	}
	if p.Run.Open {
		http.Redirect(w, r, "/type/"+pathOf(p.Run.ID), http.StatusSeeOther)
		return nil
	}
	p.Notice = notices[r.URL.Query().Get("done")]
	return s.show(w, r, "run", p)
}

// runPage gathers the page of a run. Data that allow no figures leave a page
// with the readings and the reason.
func (s *Server) runPage(ctx context.Context, id, from string) (runPage, error) {
	var p runPage
	var err error
	p.Result, err = s.shop.Result(ctx, id, nil, nil)
	var refusal *measure.Refusal
	switch {
	case errors.As(err, &refusal):
		p.Refused = sentence(refusal.Error())
	case err != nil:
		return p, err
	}
	if p.Hidden, err = s.shop.WhyHidden(ctx, id); err != nil {
		return p, err
	}
	first, _ := strconv.Atoi(from) // anything else than a number shows the first
	sheet, err := s.shop.Readings(ctx, id, max(0, first-1), sheetRows)
	if err != nil {
		return p, err
	}
	p.Sheet = viewSheet(sheet, id)
	title := p.Run.Title
	if title == "" {
		title = p.About.Title + ", " + report.Day(p.Run.Started)
	}
	p.Page = Page{Title: title, Nav: "shelf", Where: []Link{{"Shelf", "/"}, {p.Set.Name, "/sets/" + p.Set.ID}, {p.State.Name, "/sets/" + p.Set.ID}}}
	if n := len(p.Analysis.Plots); n > 0 {
		p.Main, p.Further = &p.Analysis.Plots[0], p.Analysis.Plots[1:]
	}
	p.Figures, p.Groups = s.figureRows(p.Analysis.Figures)
	p.Shared = workshop.SharedConditions(p.Analysis.Figures)
	p.Facts = factsOf(p.Result)
	p.Forms = amendForms(p.Result)
	return p, nil
}

// factsOf lists the circumstances of a run.
func factsOf(res workshop.Result) []fact {
	out := []fact{{"Power-on or first reading", report.Moment(res.Run.Started)}}
	known := map[string]bool{}
	for _, c := range res.Conditions() {
		known[c.Title] = true
		out = append(out, fact{measure.Capital(c.Title), c.Text})
	}
	for _, o := range res.About.Options {
		switch v := res.Raw.Options[o.Name]; {
		case o.Condition && !known[o.Title]:
			out = append(out, fact{measure.Capital(o.Title), "not said"})
		case !o.Condition && v != "":
			out = append(out, fact{measure.Capital(o.Title), v})
		}
	}
	for _, in := range res.Run.Setup.Instruments {
		text := in.Name
		if in.Epoch != "" {
			text += ", calibrated " + in.Epoch
		}
		out = append(out, fact{"Instrument", text})
	}
	if res.Run.Setup.Operator != "" {
		out = append(out, fact{"Read by", res.Run.Setup.Operator})
	}
	out = append(out, fact{"Came in", report.Moment(res.Run.Entered) + map[string]string{"file": ", as a file", "typed": ", typed", "wire": ", over a wire", "simulated": ", simulated"}[res.Run.Origin.How]})
	return out
}

// sheetView is a stretch of readings ready to be shown.
type sheetView struct {
	Heads      []string
	Rows       []sheetLine
	From, To   int // from 1
	Total      int
	Prev, Next string // addresses; empty at the ends
}

type sheetLine struct {
	Number int
	Cells  []string
	Struck bool
}

// viewSheet writes each column in a scale of its own.
func viewSheet(sheet workshop.Sheet, id string) sheetView {
	v := sheetView{From: sheet.First + 1, To: sheet.First + len(sheet.Rows), Total: sheet.Total}
	scales := make([]quantity.Scale, len(sheet.Columns))
	for i, c := range sheet.Columns {
		var values []float64
		for _, row := range sheet.Rows {
			if !math.IsNaN(row.Values[i]) {
				values = append(values, row.Values[i])
			}
		}
		scales[i] = quantity.ScaleFor(values, c.Unit)
		head := scales[i].Label
		if c.Unit == "s" {
			head = "min:s"
		}
		v.Heads = append(v.Heads, measure.Capital(conditionLabel(c.Role))+", "+head)
	}
	for _, row := range sheet.Rows {
		line := sheetLine{Number: row.Row + 1, Struck: row.Struck}
		for i, x := range row.Values {
			cell := ""
			switch {
			case math.IsNaN(x):
			case sheet.Columns[i].Unit == "s":
				cell = minutesSeconds(x)
			default:
				cell = printer.In(quantity.Exact(x), scales[i])
			}
			line.Cells = append(line.Cells, cell)
		}
		v.Rows = append(v.Rows, line)
	}
	for i := range sheet.Columns {
		alignDecimals(v.Rows, i)
	}
	at := func(from int) string { return "/runs/" + pathOf(id) + "?from=" + strconv.Itoa(from) + "#readings" }
	if sheet.First > 0 {
		v.Prev = at(max(1, v.From-sheetRows))
	}
	if v.To < v.Total {
		v.Next = at(v.To + 1)
	}
	return v
}

// minutesSeconds prints a time of a reading: "12:20", "12:20.5".
func minutesSeconds(seconds float64) string {
	sign := ""
	if seconds < 0 {
		sign, seconds = "−", -seconds
	}
	ms := math.Round(1000 * seconds)
	text := strconv.FormatFloat(math.Mod(ms, 60_000)/1000, 'f', -1, 64)
	if math.Mod(ms, 60_000) < 10_000 {
		text = "0" + text
	}
	return sign + strconv.FormatFloat(math.Floor(ms/60_000), 'f', 0, 64) + ":" + text
}

// alignDecimals gives all numbers of a column as many decimals as the longest has:
// the noughts the instrument showed.
func alignDecimals(rows []sheetLine, column int) {
	decimals := func(cell string) int {
		_, after, _ := strings.Cut(cell, ".")
		return len(after)
	}
	most := 0
	for _, row := range rows {
		most = max(most, decimals(row.Cells[column]))
	}
	for _, row := range rows {
		cell := &row.Cells[column]
		short := most - decimals(*cell)
		if *cell == "" || short == 0 {
			continue
		}
		if short == most {
			*cell += "."
		}
		*cell += strings.Repeat("0", short)
	}
}

// raw gives the file of a run as it was given.
func (s *Server) raw(w http.ResponseWriter, r *http.Request) error {
	f, name, err := s.shop.RawFile(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	defer f.Close()
	attach(w, name, "application/octet-stream")
	return s.stream(w, f)
}

// attach says that an answer is a file to keep.
func attach(w http.ResponseWriter, name, kind string) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
}

// readingsTable gives the readings of a run as comma-separated values.
func (s *Server) readingsTable(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	if _, err := s.shop.Book.Run(r.Context(), id); err != nil {
		return err
	}
	attach(w, id+".csv", "text/csv; charset=utf-8")
	return s.broken(s.shop.WriteReadings(r.Context(), id, w))
}

// figuresDocument gives the figures of a run as one JSON object.
func (s *Server) figuresDocument(w http.ResponseWriter, r *http.Request) error {
	res, err := s.shop.Result(r.Context(), r.PathValue("id"), nil, nil)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	return s.broken(workshop.DocumentOf(res.Analysis).Write(w))
}

// amend notes something about a run.
func (s *Server) amend(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	a, err := amendmentOf(id, form)
	if err == nil {
		_, err = s.shop.Amend(r.Context(), a)
	}
	if err == nil {
		http.Redirect(w, r, "/runs/"+pathOf(id)+"?done=amended#amendments", http.StatusSeeOther)
		return nil
	}
	if a := answerOf(err); a.status >= 500 || a.status == http.StatusNotFound {
		return err
	}
	p, perr := s.runPage(r.Context(), id, "")
	if perr != nil {
		return perr
	}
	p.Status, p.Wrong = answerOf(err).status, answerOf(err).text
	kind := form.Get("kind")
	if f, ok := p.Forms[kind]; ok {
		f.Fields = fill(f.Fields, form)
		p.Forms[kind] = f
	}
	return s.show(w, r, "run", p)
}

// amendmentOf reads an amendment from its form.
func amendmentOf(id string, form url.Values) (run.Amendment, error) {
	a := run.Amendment{RunID: id, Kind: form.Get("kind"), Role: text(form, "role"), Text: text(form, "text"), Reason: text(form, "reason")}
	switch a.Kind {
	case "reading":
		a.Kind, a.Role, a.Text = form.Get("what"), "", ""
		typed := text(form, "number")
		if typed == "" {
			typed = form.Get("row")
		}
		n, err := strconv.Atoi(typed)
		if err != nil {
			return a, badRequest("Reading %q: expected the number of a reading, as in the table of readings.", typed)
		}
		a.Row = n - 1
	case run.AmendScale:
		factor, err := measure.ParseNumber(text(form, "factor"), "1")
		if err != nil {
			return a, badRequest("Factor %q: expected a number, such as 1000 or 0.001.", text(form, "factor"))
		}
		a.Factor = factor
	}
	return a, nil
}

// amendForms are the forms for later notes on a run.
func amendForms(res workshop.Result) map[string]Form {
	at := "/runs/" + pathOf(res.Run.ID) + "/amend"
	why := Field{Name: "reason", Label: "Why", Required: true, Wide: true, Help: "For the next reader."}
	var columns, options []Choice
	for _, c := range res.Raw.Series.Columns {
		columns = append(columns, Choice{c.Role, conditionLabel(c.Role) + ", taken in " + c.Unit})
	}
	for _, o := range res.About.Options {
		options = append(options, Choice{o.Name, o.Title})
	}
	kind := func(k string) []Field { return []Field{{Name: "kind", Value: k}} }
	return map[string]Form{
		run.AmendScale: {Action: at, Submit: "Put the unit right", Hidden: kind(run.AmendScale), Fields: []Field{
			{Name: "role", Label: "Column", Kind: "select", Choices: columns},
			{Name: "factor", Label: "Multiply by", Required: true, Example: "1000", Help: "1000 where kHz was taken for Hz; 0.001 the other way."}, why}},
		run.AmendOption: {Action: at, Submit: "Put it right", Hidden: kind(run.AmendOption), Fields: []Field{
			{Name: "role", Label: "What was said", Kind: "select", Choices: options},
			{Name: "text", Label: "What it should have been", Example: "14 h"}, why}},
		run.AmendNote: {Action: at, Submit: "Add the note", Hidden: kind(run.AmendNote), Fields: []Field{
			{Name: "reason", Label: "Note", Kind: "area", Required: true, Wide: true, Help: "Stands in the results from now on. No figure changes by it."}}},
		"heading": {Action: "/runs/" + pathOf(res.Run.ID) + "/notes", Submit: "Keep this", Fields: []Field{
			{Name: "title", Label: "Title", Value: res.Run.Title, Help: "The measurement and the day, if nothing is said."},
			{Name: "notes", Label: "Notes", Value: res.Run.Notes, Kind: "area", Wide: true}}},
		"hide": {Action: "/runs/" + pathOf(res.Run.ID) + "/hide", Submit: "Hide this run", Fields: []Field{
			{Name: "reason", Label: "Why", Required: true, Wide: true, Help: "It takes no part in anything then, and can be shown again."}}},
	}
}

// runNotes puts title and notes of a run right.
func (s *Server) runNotes(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	if _, err := s.shop.EditRun(r.Context(), r.PathValue("id"), text(form, "title"), text(form, "notes"), ""); err != nil {
		return err
	}
	http.Redirect(w, r, "/runs/"+pathOf(r.PathValue("id"))+"?done=changed", http.StatusSeeOther)
	return nil
}

// hideRun takes a run out of sight.
func (s *Server) hideRun(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	if err := s.shop.HideRun(r.Context(), r.PathValue("id"), text(form, "reason")); err != nil {
		return err
	}
	http.Redirect(w, r, "/runs/"+pathOf(r.PathValue("id"))+"?done=hidden", http.StatusSeeOther)
	return nil
}

// unhideRun brings a run back.
func (s *Server) unhideRun(w http.ResponseWriter, r *http.Request) error {
	if err := s.shop.ShowRun(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/runs/"+pathOf(r.PathValue("id"))+"?done=shown", http.StatusSeeOther)
	return nil
}

// HasAllan says whether a picture stands there that the further figures belong
// under.
func (p runPage) HasAllan() bool {
	for _, plot := range p.Further {
		if plot.ID == "allan" {
			return true
		}
	}
	return false
}

// Remarked says whether any figure has something that must be read beside it.
func (p runPage) Remarked() bool {
	for _, f := range p.Figures {
		if f.Remark != "" {
			return true
		}
	}
	return false
}
