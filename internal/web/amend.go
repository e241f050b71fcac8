package web

import (
	"net/http"
	"net/url"
	"strconv"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

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
	case run.AmendLabel, run.AmendLeave, run.AmendTake:
		n, err := strconv.Atoi(form.Get("recording"))
		if err != nil {
			return a, badRequest("Recording %q: expected one of those of the run.", form.Get("recording"))
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
	which := Field{Name: "recording", Label: "Recording", Kind: "select", Choices: recordingChoices(res)}
	return map[string]Form{
		run.AmendLabel: {Action: at, Submit: "Put it right", Hidden: kind(run.AmendLabel), Fields: []Field{which,
			{Name: "role", Label: "What was said of it", Kind: "select", Choices: labelChoices(res)},
			{Name: "text", Label: "What it should have been", Example: "-83 dBm"}, why}},
		run.AmendLeave: {Action: at, Submit: "Leave it out, or take it in again", Fields: []Field{which,
			{Name: "kind", Label: "What to do", Kind: "select", Choices: []Choice{{run.AmendLeave, "leave it out"}, {run.AmendTake, "take it in again"}}}, why}},
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

// recordingChoices are the recordings of a run by number and name.
func recordingChoices(res workshop.Result) []Choice {
	var out []Choice
	for i, rec := range res.Run.Recordings {
		out = append(out, Choice{strconv.Itoa(i + 1), strconv.Itoa(i+1) + ". " + workshop.RecordingTitle(rec)})
	}
	return out
}

// labelChoices are the labels that recordings of the measurement have.
func labelChoices(res workshop.Result) []Choice {
	var out []Choice
	seen := map[string]bool{}
	for _, spec := range res.About.Recordings {
		for _, l := range spec.Labels {
			if !seen[l.Name] {
				seen[l.Name] = true
				out = append(out, Choice{l.Name, l.Title})
			}
		}
	}
	return out
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
