package web

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"setwright/internal/measure"
	"setwright/internal/report"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// soundRoutes are the addresses of recordings.
func (s *Server) soundRoutes(handle func(string, func(http.ResponseWriter, *http.Request) error)) {
	handle("GET /runs/{id}/recordings/{n}", s.sound)
	handle("GET /runs/{id}/recordings/{n}/listen.wav", s.listenTo)
	handle("GET /runs/{id}/recordings/{n}/file", s.soundFile)
	handle("GET /spectra", s.spectra)
}

// soundPage shows a recording: its course, its spectrum, its spectrogram, to be
// heard, with the stretches that figures came from.
type soundPage struct {
	Page
	workshop.SoundView
	Address   string // of the page, without what is behind it
	Form      string
	Stretches []stretchLine
	Gaps      []gapLine
	Facts     []fact
	Others    []Choice // recordings it can be laid over
	Self      string
}

// stretchLine is a stretch that a figure came from, to be heard.
type stretchLine struct {
	From, To, Label, Figures string
	FromS, ToS               float64
}

type gapLine struct{ At, Long, Why string }

// number reads the number of a recording in an address, from 1.
func number(r *http.Request) (int, error) {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil || n < 1 {
		return 0, notThere("There is no recording %q.", r.PathValue("n"))
	}
	return n - 1, nil
}

// sound shows a recording. One that nobody has looked at before is read whole,
// as a job.
func (s *Server) sound(w http.ResponseWriter, r *http.Request) error {
	n, err := number(r)
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	rec, err := s.shop.RecordingOf(r.Context(), id, n)
	if err != nil {
		return noRecording(err)
	}
	_, waiting, err := s.looked(w, r, "Looking at "+rec.Name, func(ctx context.Context, progress func(float64)) (any, error) {
		_, err := s.shop.LookAtSound(ctx, id, n, progress) // makes the pictures and keeps them
		return nil, err
	})
	if err != nil || waiting {
		return err
	}
	v, err := s.shop.LookAtSound(r.Context(), id, n, nil)
	if err != nil {
		return err
	}
	p := soundPage{SoundView: v, Address: fmt.Sprintf("/runs/%s/recordings/%d", pathOf(id), n+1), Form: workshop.RecordingForm(rec), Self: workshop.SoundName(id, n)}
	p.Page = Page{Title: workshop.RecordingTitle(v.Recording), Nav: "shelf", Where: []Link{{"Shelf", "/"}, {v.Set.Name, "/sets/" + v.Set.ID}, {runTitle(v.Run, v.About), "/runs/" + pathOf(id)}}}
	p.Stretches = s.stretchLines(v)
	p.Gaps = gapLines(v.Recording)
	p.Facts = captureFacts(v.Recording)
	if p.Others, err = s.soundChoices(r.Context(), p.Self); err != nil {
		return err
	}
	return s.show(w, r, "sound", p)
}

// looked does what may take long as a job, and says whether its page was shown
// instead. Its page leads back here, where what it made is given once.
func (s *Server) looked(w http.ResponseWriter, r *http.Request, title string, look func(context.Context, func(float64)) (any, error)) (made any, waiting bool, err error) {
	j := s.jobs.startFor(r.URL.RequestURI(), title, func(ctx context.Context, progress func(done, of int64)) (any, error) {
		return look(ctx, func(x float64) { progress(int64(1000*x), 1000) })
	})
	if !j.within(s.patience) {
		http.Redirect(w, r, "/jobs/"+j.ID, http.StatusSeeOther)
		return nil, true, nil
	}
	s.jobs.given(j)
	return j.made, false, j.err
}

// noRecording is the answer for a number that no recording has.
func noRecording(err error) error {
	var none *workshop.NoRecordingError
	if errors.As(err, &none) {
		return notThere("%s.", measure.Capital(none.Error()))
	}
	return err
}

func (s *Server) stretchLines(v workshop.SoundView) []stretchLine {
	var out []stretchLine
	for _, x := range v.Stretches {
		line := stretchLine{From: clock(x.FromS), To: clock(x.ToS), Label: x.Label, FromS: x.FromS, ToS: x.ToS}
		for i, id := range x.Figures {
			if i > 0 {
				line.Figures += ", "
			}
			if spec, _, ok := s.shop.Registry.Figure(id); ok {
				line.Figures += spec.Title
			}
		}
		out = append(out, line)
	}
	return out
}

// gapsListed is how many gaps the page lists.
const gapsListed = 50

func gapLines(rec run.Recording) []gapLine {
	if rec.Capture == nil {
		return nil
	}
	var out []gapLine
	for i, g := range rec.Capture.Gaps {
		if i == gapsListed {
			return append(out, gapLine{Why: fmt.Sprintf("and %d more", len(rec.Capture.Gaps)-gapsListed)})
		}
		line := gapLine{At: told(float64(g.Frame)/rec.RateHz, "s"), Why: g.Why}
		if g.Frames > 0 {
			line.Long = told(float64(g.Frames)/rec.RateHz, "s")
		} else if g.LostS > 0 {
			line.Long = told(g.LostS, "s") + " lost"
		}
		out = append(out, line)
	}
	return out
}

// labelFacts are what was set while a recording was made, by name.
func labelFacts(labels map[string]string) []fact {
	var out []fact
	for _, name := range slices.Sorted(maps.Keys(labels)) {
		out = append(out, fact{measure.Capital(name), labels[name]})
	}
	return out
}

// captureFacts are the circumstances in which a recording was made.
func captureFacts(rec run.Recording) []fact {
	out := labelFacts(rec.Labels)
	c := rec.Capture
	if c == nil {
		return out
	}
	out = append(out, fact{"Came by", c.Path})
	if c.Device != "" {
		out = append(out, fact{"Input", c.Device})
	}
	if c.DeviceRate > 0 {
		out = append(out, fact{"Rate by the device", told(c.DeviceRate, "Hz")})
	}
	if c.PathRate > 0 && c.PathRate != c.DeviceRate {
		out = append(out, fact{"Rate by the path", told(c.PathRate, "Hz")})
	}
	for _, x := range []struct {
		name string
		on   *bool
	}{{"Echo cancelling", c.Echo}, {"Noise suppression", c.Noise}, {"Automatic gain", c.Gain}} {
		if x.on != nil {
			out = append(out, fact{x.name, map[bool]string{true: "on", false: "off, as it must be"}[*x.on]})
		}
	}
	return out
}

// listenTo gives a recording in a form that every browser plays, from any place.
func (s *Server) listenTo(w http.ResponseWriter, r *http.Request) error {
	n, err := number(r)
	if err != nil {
		return err
	}
	p, err := s.shop.Play(r.Context(), r.PathValue("id"), n)
	if err != nil {
		return noRecording(err)
	}
	defer p.Close()
	w.Header().Set("Content-Type", "audio/wav")
	http.ServeContent(w, r, "", s.shop.Clock(), p)
	return nil
}

// soundFile gives a recording as it was given.
func (s *Server) soundFile(w http.ResponseWriter, r *http.Request) error {
	n, err := number(r)
	if err != nil {
		return err
	}
	f, name, err := s.shop.RecordingFile(r.Context(), r.PathValue("id"), n)
	if err != nil {
		return noRecording(err)
	}
	defer f.Close()
	attach(w, name, "application/octet-stream")
	return s.stream(w, f)
}

// spectraPage lays the spectra of two recordings over each other.
type spectraPage struct {
	Page
	All     []Choice
	A, B    string
	Problem string
	View    *workshop.SpectraView
}

// spectra compares the spectra of two recordings.
func (s *Server) spectra(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	p := spectraPage{Page: Page{Title: "Two spectra", Nav: "compare", Where: []Link{{"Shelf", "/"}}}, A: text(q, "a"), B: text(q, "b")}
	var err error
	if p.All, err = s.soundChoices(r.Context(), ""); err != nil {
		return err
	}
	if p.A == "" || p.B == "" {
		return s.show(w, r, "spectra", p)
	}
	made, waiting, err := s.looked(w, r, "Working two spectra out", func(ctx context.Context, progress func(float64)) (any, error) {
		return s.shop.CompareSpectra(ctx, p.A, p.B, progress)
	})
	if waiting {
		return nil
	}
	if err != nil {
		a := answerOf(err)
		if a.status >= 500 {
			return err
		}
		p.Problem, p.Status = a.text, a.status
	} else if v, ok := made.(workshop.SpectraView); ok {
		p.View = &v
	}
	return s.show(w, r, "spectra", p)
}

// soundChoices lists the recordings of the book but one.
func (s *Server) soundChoices(ctx context.Context, but string) ([]Choice, error) {
	all, err := s.shop.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	var out []Choice
	for _, x := range all {
		if name := workshop.SoundName(x.Run.ID, x.N); name != but {
			out = append(out, Choice{name, x.Set.Name + ", " + report.Day(x.Run.Started) + ": " + workshop.RecordingTitle(x.Run.Recordings[x.N])})
		}
	}
	return out, nil
}

// over is the address of a spectrum with another laid over it.
func (p soundPage) Over() string { return "/spectra?" + url.Values{"a": {p.Self}}.Encode() }
