package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
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
	Measure    Field
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
	p.Measure = fill([]Field{{Name: "measurement", Label: "Measurement", Kind: "select", Choices: kinds}}, sent)[0]
	m, err := s.shop.Registry.Get(sent.Get("measurement"))
	if err != nil {
		return err
	}
	about := m.About()
	p.Takes, p.Cautions = about.Recordings, cautionsFor(about, "before")
	fields := []Field{{Name: "state", Label: "State of the set", Kind: "select", Choices: states, Wide: true}}
	fields = append(fields, soundFields(0, about, 1)...)
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

// livePage is the page that records, or watches.
type livePage struct {
	Page
	ID      string // of the listening that is watched; empty where the page records
	Facts   []fact
	Run     string
	Doing   string
	Takes   string
	Worklet string
}

// listenLive is the page that records from the browser's sound input. What was
// said in the form stands in its address and comes back with the sound.
func (s *Server) listenLive(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	n, about, err := s.newListening(r.Context(), q)
	if err == nil {
		err = s.shop.CheckListening(r.Context(), n)
	}
	if err != nil {
		a := answerOf(err)
		if a.status >= 500 {
			return err
		}
		return s.listenFormWith(w, r, q, a.text)
	}
	p := livePage{Page: Page{Title: "Recording: " + about.Title, Nav: "listen", Bare: true, Where: []Link{{"Record", "/listen?" + r.URL.RawQuery}}},
		Doing: "Press space when the set is as you want it", Worklet: s.assets.href("passon.js")}
	if spec, ok := about.RecordingOf(n.Role); ok {
		p.Takes = spec.Help
	}
	p.Facts = labelFacts(n.Labels)
	w.Header().Set("Permissions-Policy", "camera=(), microphone=(self), geolocation=()") // this page alone
	return s.show(w, r, "live", p)
}

// serverInputs are the inputs of the computer's sound server, or why there are
// none.
func (s *Server) serverInputs(ctx context.Context) (inputs []Choice, why string) {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	all, err := s.shop.ServerInputs(ctx)
	if err != nil {
		return nil, "This computer's sound server is not reached: " + sentence(err.Error())
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

// watchListening is the page of a recording that is made elsewhere: by another
// page, or from the computer's sound server.
func (s *Server) watchListening(w http.ResponseWriter, r *http.Request) error {
	l, err := s.shop.Listening(r.PathValue("id"))
	if err != nil {
		return notThere("%s. It may have ended: the shelf shows its run.", measure.Capital(err.Error()))
	}
	st := l.Status()
	p := livePage{Page: Page{Title: "Recording: " + st.Name, Nav: "listen", Bare: true, Where: []Link{{"Record", "/listen"}}},
		ID: l.ID, Run: st.RunID, Doing: "Being recorded"}
	p.Facts = labelFacts(st.Labels)
	return s.show(w, r, "live", p)
}

// listeningEvents tells viewers how a recording stands, as server-sent events.
func (s *Server) listeningEvents(w http.ResponseWriter, r *http.Request) error {
	l, err := s.shop.Listening(r.PathValue("id"))
	if err != nil {
		return notThere("%s.", measure.Capital(err.Error()))
	}
	status, stop := l.Subscribe()
	defer stop()
	out := http.NewResponseController(w)
	_ = out.SetWriteDeadline(time.Time{}) // as long as somebody looks
	w.Header().Set("Content-Type", "text/event-stream")
	for {
		select {
		case <-r.Context().Done():
			return nil
		case st, more := <-status:
			if !more {
				return nil
			}
			data, err := json.Marshal(st)
			if err != nil {
				return s.broken(err)
			}
			if _, err := fmt.Fprintf(w, "data: %s\n\n", data); err != nil {
				return nil // nobody looks any more
			}
			if out.Flush() != nil {
				return nil
			}
		}
	}
}

// markListening marks the moment.
func (s *Server) markListening(w http.ResponseWriter, r *http.Request) error {
	l, err := s.shop.Listening(r.PathValue("id"))
	if err != nil {
		return notThere("%s.", measure.Capital(err.Error()))
	}
	if _, err := l.Mark(""); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// stopListening ends a recording and leads to its run.
func (s *Server) stopListening(w http.ResponseWriter, r *http.Request) error {
	l, err := s.shop.Listening(r.PathValue("id"))
	if err != nil {
		return notThere("%s.", measure.Capital(err.Error()))
	}
	got, err := l.Stop(context.WithoutCancel(r.Context()))
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/runs/"+pathOf(got.Run.ID)+"?done=recorded", http.StatusSeeOther)
	return nil
}

// recoverListening stores a recording that a program left unfinished.
func (s *Server) recoverListening(w http.ResponseWriter, r *http.Request) error {
	got, err := s.shop.Recover(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/runs/"+pathOf(got.Run.ID)+"?done=recovered", http.StatusSeeOther)
	return nil
}

// discardListening deletes a recording that a program left unfinished.
func (s *Server) discardListening(w http.ResponseWriter, r *http.Request) error {
	if err := s.shop.DiscardUnfinished(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/listen", http.StatusSeeOther)
	return nil
}

// endListenings stores what is still being recorded, when the program ends.
func (s *Server) endListenings(ctx context.Context) {
	for _, l := range s.shop.Listenings() {
		if _, err := l.Cut(ctx, "the program was ended"); err != nil && !errors.Is(err, context.Canceled) {
			s.opt.Log.Printf("web: recording %s: %v", l.ID, err)
		}
	}
}
