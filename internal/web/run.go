package web

import (
	"context"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"strconv"

	"setwright/internal/measure"
	"setwright/internal/report"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

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

	Recordings []recordingLine
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
	p.Page = Page{Title: runTitle(p.Run, p.About), Nav: "shelf", Where: []Link{{"Shelf", "/"}, {p.Set.Name, "/sets/" + p.Set.ID}, {p.State.Name, "/sets/" + p.Set.ID}}}
	if n := len(p.Analysis.Plots); n > 0 {
		p.Main, p.Further = &p.Analysis.Plots[0], p.Analysis.Plots[1:]
	}
	p.Figures, p.Groups = s.figureRows(p.Analysis.Figures)
	p.Shared = workshop.SharedConditions(p.Analysis.Figures)
	p.Facts = factsOf(p.Result)
	p.Recordings = recordingLines(p.Result)
	p.Forms = amendForms(p.Result)
	return p, nil
}

// runTitle is what a run is called.
func runTitle(r run.Run, about measure.About) string {
	if r.Title != "" {
		return r.Title
	}
	return about.Title + ", " + report.Day(r.Started)
}

// recordingLine is a recording in the list of a run.
type recordingLine struct {
	Number            int
	Title, Form, Href string
	Out               bool // left out by an amendment
	Warnings          []string
}

func recordingLines(res workshop.Result) []recordingLine {
	var out []recordingLine
	for i, rec := range res.Run.Recordings {
		out = append(out, recordingLine{Number: i + 1, Title: workshop.RecordingTitle(rec), Form: workshop.RecordingForm(rec),
			Href: fmt.Sprintf("/runs/%s/recordings/%d", pathOf(res.Run.ID), i+1), Out: workshop.LeftOut(res, i), Warnings: workshop.RecordingWarnings(rec)})
	}
	return out
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
