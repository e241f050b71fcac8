package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"time"

	"setwright/internal/measure"
)

// livePage is the page that records, or watches.
type livePage struct {
	Page
	ID      string // of the listening that is watched; empty where the page records
	Facts   []fact
	Run     string
	Doing   string
	Takes   string
	Worklet string

	Cautions []measure.Caution
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
	p := livePage{Cautions: []measure.Caution{{Text: measure.CautionTerminals}, {Text: measure.CautionSoundInput}},
		Page:  Page{Title: "Recording: " + about.Title, Nav: "listen", Bare: true, Where: []Link{{"Record", "/listen?" + r.URL.RawQuery}}},
		Doing: "Press space when the set is as you want it", Worklet: s.assets.href("passon.js")}
	if spec, ok := about.RecordingOf(n.Role); ok {
		p.Takes = spec.Help
	}
	p.Facts = labelFacts(n.Labels)
	w.Header().Set("Permissions-Policy", "camera=(), microphone=(self), geolocation=()") // this page alone
	return s.show(w, r, "live", p)
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
