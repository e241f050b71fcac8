package web

import (
	"context"
	"net/http"
	"net/url"
	"time"

	"setwright/internal/measure"
	"setwright/internal/workshop"
)

// listenRoutes are the addresses of live sound.
func (s *Server) listenRoutes(handle func(string, func(http.ResponseWriter, *http.Request) error)) {
	handle("GET /listen", s.listenForm)
	handle("GET /listen/live", s.listenLive)
	handle("GET /listen/sound", s.takeSound)
	handle("POST /listen/server", s.listenServer)
	handle("GET /listen/{id}", s.watchListening)
	handle("GET /listen/{id}/events", s.listeningEvents)
	handle("POST /listen/{id}/mark", s.markListening)
	handle("POST /listen/{id}/stop", s.stopListening)
	handle("POST /listen/{id}/recover", s.recoverListening)
	handle("POST /listen/{id}/discard", s.discardListening)
}

// listenPage asks what is going to be recorded, and lists what is under way or
// waits to be recovered.
type listenPage struct {
	Page
	NoStates   bool
	Form       Form
	Whose      []Field // measurement and state; the measurement decides what else is asked
	Takes      []measure.RecordingSpec
	Cautions   []measure.Caution
	Inputs     []Choice // of the computer's sound server; none where it is not reached
	NoInputs   string   // why
	Open       []listeningLine
	Unfinished []listeningLine
	Instrument []instrumentChoice
}

// listeningLine is a recording under way, or one that a program left behind.
type listeningLine struct{ ID, Title, Text string }

func (s *Server) listenForm(w http.ResponseWriter, r *http.Request) error {
	return s.listenFormWith(w, r, r.URL.Query(), "")
}

func (s *Server) listenFormWith(w http.ResponseWriter, r *http.Request, sent url.Values, problem string) error {
	p := listenPage{Page: Page{Title: "Record the set's output", Nav: "listen"}}
	if problem != "" {
		p.Status = http.StatusUnprocessableEntity
	}
	states, err := s.stateChoices(r.Context())
	if err != nil {
		return err
	}
	p.NoStates = len(states) == 0
	kinds := s.soundKinds()
	if sent.Get("measurement") == "" && len(kinds) > 0 {
		sent.Set("measurement", kinds[0].Value)
	}
	p.Whose = fill([]Field{{Name: "state", Label: "State of the set", Kind: "select", Choices: states, Wide: true},
		{Name: "measurement", Label: "Measurement", Kind: "select", Choices: kinds}}, sent)
	m, err := s.shop.Registry.Get(sent.Get("measurement"))
	if err != nil {
		return err
	}
	about := m.About()
	p.Takes, p.Cautions = about.Recordings, append(cautionsFor(about, "before"), cautionsFor(about, "sound")...)
	fields := soundFields(0, about, 1)
	runs, err := s.runChoices(r.Context(), about)
	if err != nil {
		return err
	}
	if len(runs) > 0 {
		fields = append(fields, Field{Name: "run", Label: "Belongs to", Kind: "select", Wide: true,
			Choices: append([]Choice{{"", "a run of its own"}}, runs...), Help: "A measurement that takes several recordings wants them in one run."})
	}
	fields = append(fields, Field{Name: "operator", Label: "Recorded by"})
	fields = append(fields, conditionFields(about, nil)...)
	p.Form = Form{Problem: problem, Fields: fill(fields, sent)}
	if p.Instrument, err = s.instrumentChoices(r, sent); err != nil {
		return err
	}
	p.Inputs, p.NoInputs = s.serverInputs(r.Context())
	if err := s.listListenings(r.Context(), &p); err != nil {
		return err
	}
	return s.show(w, r, "listen", p)
}

// soundKinds are the measurements that take recordings.
func (s *Server) soundKinds() []Choice {
	var out []Choice
	for _, id := range s.shop.Registry.IDs() {
		if m, err := s.shop.Registry.Get(id); err == nil && len(m.About().Recordings) > 0 {
			out = append(out, Choice{id, m.About().Title})
		}
	}
	return out
}

// runChoices are the runs of a measurement that a recording can be added to.
func (s *Server) runChoices(ctx context.Context, about measure.About) ([]Choice, error) {
	all, err := s.shop.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	var out []Choice
	for _, x := range all {
		if x.N == 0 && x.Run.Measurement == about.ID {
			out = append(out, Choice{x.Run.ID, x.Set.Name + ": " + runTitle(x.Run, about)})
		}
	}
	return out, nil
}

// listListenings fills in what is under way and what was left behind.
func (s *Server) listListenings(ctx context.Context, p *listenPage) error {
	for _, l := range s.shop.Listenings() {
		st := l.Status()
		p.Open = append(p.Open, listeningLine{l.ID, st.Name, clock(st.ElapsedS) + ", for run " + st.RunID})
	}
	left, err := s.shop.UnfinishedListenings(ctx, false)
	if err != nil {
		return err
	}
	for _, u := range left {
		p.Unfinished = append(p.Unfinished, listeningLine{u.ID, u.Recording.Name, clock(u.Seconds) + ", for run " + u.Run.ID})
	}
	return nil
}

// serverInputs are the inputs of the computer's sound server, or why there are
// none.
func (s *Server) serverInputs(ctx context.Context) (inputs []Choice, why string) {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	all, err := s.shop.ServerInputs(ctx)
	if err != nil {
		return nil, "This computer's own sound server cannot be recorded from: none was found. The browser's sound input does as well."
	}
	for _, in := range all {
		inputs = append(inputs, Choice{in.ID, in.Name})
	}
	if len(inputs) == 0 {
		return nil, "This computer's sound server has no input."
	}
	return inputs, ""
}

// listenServer begins to record from the computer's sound server.
func (s *Server) listenServer(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	n, _, err := s.newListening(r.Context(), form)
	if err == nil {
		var l *workshop.Listening
		if l, err = s.shop.ListenToServer(context.WithoutCancel(r.Context()), n, text(form, "device")); err == nil {
			http.Redirect(w, r, "/listen/"+pathOf(l.ID), http.StatusSeeOther)
			return nil
		}
	}
	a := answerOf(err)
	if a.status >= 500 {
		return err
	}
	return s.listenFormWith(w, r, form, a.text)
}

// newListening reads what was said about a recording that is going to be made.
func (s *Server) newListening(ctx context.Context, form url.Values) (workshop.NewListening, measure.About, error) {
	run, _, err := s.newRunOf(ctx, form)
	if err != nil {
		return workshop.NewListening{}, measure.About{}, err
	}
	m, err := s.shop.Registry.Get(run.Measurement)
	if err != nil {
		return workshop.NewListening{}, measure.About{}, err
	}
	about := m.About()
	n := workshop.NewListening{NewRun: run, Run: text(form, "run"), Role: text(form, "role 0"), Labels: map[string]string{}}
	for _, spec := range about.Recordings {
		for _, l := range spec.Labels {
			if v := text(form, "label 0 "+l.Name); v != "" {
				n.Labels[l.Name] = v
			}
		}
	}
	n.Channel, err = workshop.ParseChannel(text(form, "channel 0"))
	return n, about, err
}
