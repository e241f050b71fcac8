package web

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/report"
	"setwright/internal/workshop"
)

// importPage asks for a file.
type importPage struct {
	Page
	States   []Choice
	Kinds    []Choice // measurements
	State    string
	Kind     string
	NoStates bool
}

// importForm asks for a file and for the state it belongs to.
func (s *Server) importForm(w http.ResponseWriter, r *http.Request) error {
	p := importPage{Page: Page{Title: "Import a log or recordings", Nav: "import"}, State: r.URL.Query().Get("state"), Kind: cmp.Or(r.URL.Query().Get("measurement"), s.shop.Registry.Usual())}
	var err error
	if p.States, err = s.stateChoices(r.Context()); err != nil {
		return err
	}
	p.NoStates = len(p.States) == 0
	p.Kinds = s.measurementChoices()
	return s.show(w, r, "import", p)
}

// stateChoices lists all states of the book, the present one of each set first.
func (s *Server) stateChoices(ctx context.Context) ([]Choice, error) {
	shelf, err := s.shop.Shelf(ctx)
	if err != nil {
		return nil, err
	}
	var out []Choice
	for _, item := range shelf {
		v, err := s.shop.SetView(ctx, item.Set.ID, false)
		if err != nil {
			return nil, err
		}
		for i := len(v.States) - 1; i >= 0; i-- {
			st := v.States[i].State
			out = append(out, Choice{st.ID, v.Set.Name + ", " + st.Name + ", from " + report.Day(st.From)})
		}
	}
	return out, nil
}

func (s *Server) measurementChoices() []Choice {
	var out []Choice
	for _, id := range s.shop.Registry.IDs() {
		if m, err := s.shop.Registry.Get(id); err == nil {
			out = append(out, Choice{id, m.About().Title})
		}
	}
	return out
}

// importFile takes in a file, or several recordings, puts them on the stage and
// leads to their preview. They are streamed.
func (s *Server) importFile(w http.ResponseWriter, r *http.Request) error {
	form, parts, err := s.stagedParts(w, r)
	if err != nil {
		return err
	}
	var tokens []string
	for _, x := range parts {
		tokens = append(tokens, x.Token)
	}
	if len(tokens) == 0 {
		return badRequest("No file was chosen: choose one, or drop it on the field.")
	}
	q := url.Values{"file": tokens, "state": form["state"], "measurement": form["measurement"]}
	http.Redirect(w, r, "/import/preview?"+q.Encode(), http.StatusSeeOther)
	return nil
}

// incoming explains why an upload broke off.
func incoming(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return err
	}
	return badRequest("The file did not come through whole: %v. Nothing was kept of it.", err)
}

// source is the staged file as the import reads it, under the name it was given.
func (st staged) source() (intake.Source, error) {
	src, err := intake.FileSource(st.Path)
	src.Name = st.Name
	return src, err
}

// dropImport lets a staged file go.
func (s *Server) dropImport(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	for _, token := range form["file"] {
		s.stage.drop(token)
	}
	http.Redirect(w, r, "/import", http.StatusSeeOther)
	return nil
}

// storeImport stores a staged file as a run. A large one is stored as a job,
// which shows how far it is and can be stopped.
func (s *Server) storeImport(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	st, err := s.stage.get(form.Get("file"))
	if err != nil {
		return err
	}
	n, over, err := s.newRunOf(r.Context(), form)
	if err != nil {
		return s.previewWith(w, r, form, answerOf(err).text)
	}
	src, err := st.source()
	if err != nil {
		return err
	}
	if st, err = s.stage.take(st.Token); err != nil {
		return err
	}
	j := s.jobs.start("Storing "+st.Name, s.storing(st, src, n, over))
	if !j.within(s.patience) {
		http.Redirect(w, r, "/jobs/"+j.ID, http.StatusSeeOther)
		return nil
	}
	if j.err != nil {
		if a := answerOf(j.err); a.status >= 500 {
			return j.err
		}
		return s.previewWith(w, r, form, fmt.Sprintf("Not stored. %s", answerOf(j.err).text))
	}
	http.Redirect(w, r, j.href, http.StatusSeeOther)
	return nil
}

// storing is the job of storing a file and working its figures out, so that
// the page of the run does not keep anybody waiting. Stopping it before the end
// of the storing leaves nothing behind; later, figures to be worked out anew.
func (s *Server) storing(st staged, src intake.Source, n workshop.NewRun, over intake.Override) work {
	return func(ctx context.Context, progress func(done, of int64)) (string, error) {
		got, err := s.shop.Import(ctx, n, src, over, func(done, of int64) { progress(done/2, of) })
		if err != nil {
			s.stage.giveBack(st.Token)
			return "", err
		}
		s.stage.drop(st.Token)
		_, err = s.shop.Result(ctx, got.Run.ID, nil, func(part float64) { progress(50+int64(50*part), 100) })
		if err != nil && ctx.Err() == nil {
			s.opt.Log.Printf("web: figures of %s: %v", got.Run.ID, err) // the run's page says so as well
		}
		return "/runs/" + pathOf(got.Run.ID) + "?done=stored", nil
	}
}

// newRunOf reads what was said about a run, and how its file is to be read.
func (s *Server) newRunOf(ctx context.Context, form url.Values) (workshop.NewRun, intake.Override, error) {
	n := workshop.NewRun{State: text(form, "state"), Measurement: text(form, "measurement"), Title: text(form, "title"), Notes: form.Get("notes"), Options: map[string]string{}}
	over, err := overrideOf(form)
	if err != nil {
		return n, over, err
	}
	m, err := s.shop.Registry.Get(n.Measurement)
	if err != nil {
		return n, over, err
	}
	for _, o := range m.About().Options {
		if v := text(form, "opt "+o.Name); v != "" {
			n.Options[o.Name] = v
		}
	}
	if n.Started, err = when(form, "started", "Power-on"); err != nil {
		return n, over, err
	}
	n.Setup.Operator = text(form, "operator")
	n.Setup.Instruments, err = s.shop.BenchInstruments(ctx, form["instrument"])
	return n, over, err
}

// conditionFields ask for the circumstances of a run.
func conditionFields(about measure.About, skip map[string]bool) []Field {
	var out []Field
	for _, o := range about.Options {
		if !o.Condition || skip[o.Name] {
			continue
		}
		out = append(out, optionField(o))
	}
	return out
}

// optionField asks for one option.
func optionField(o measure.OptionSpec) Field {
	f := Field{Name: "opt " + o.Name, Label: measure.Capital(o.Title), Help: o.Help, Example: o.Example}
	if len(o.Choices) > 0 && !o.List {
		f.Kind, f.Choices = "select", []Choice{{"", "not said"}}
		for _, c := range o.Choices {
			f.Choices = append(f.Choices, Choice{c, c})
		}
	}
	return f
}
