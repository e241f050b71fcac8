package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/report"
	"setwright/internal/workshop"
)

// soundPreviewPage shows what recordings are, and asks what was set while each
// was made, before anything is stored.
type soundPreviewPage struct {
	Page
	Problem     string
	Measurement string
	Takes       []measure.RecordingSpec
	Files       []soundEntry
	Together    bool // they make one run
	Hidden      []Field
	About       []Field
	Conditions  []Field
	Instruments []instrumentChoice
}

// soundEntry is one recording that waits.
type soundEntry struct {
	Name, Size, Form string
	Fields           []Field
}

// stagedSound are the files that a form names, and whether they are recordings.
func (s *Server) stagedSound(form url.Values) (all []staged, sound bool, err error) {
	recordings := 0
	for _, token := range form["file"] {
		st, err := s.stage.get(token)
		if err != nil {
			return nil, false, err
		}
		src, err := st.source()
		if err != nil {
			return nil, false, err
		}
		is, err := workshop.IsRecording(src)
		if err != nil {
			return nil, false, err
		}
		if is {
			recordings++
		}
		all = append(all, st)
	}
	switch {
	case recordings == len(all):
		return all, recordings > 0, nil
	case recordings > 0:
		return nil, false, badRequest("Recordings and logs came together: import them one after the other.")
	case len(all) > 1:
		return nil, false, badRequest("%d logs came together: each needs to be looked at, so import them one at a time.", len(all))
	}
	return all, false, nil
}

// soundPreview shows staged recordings by what the form says.
func (s *Server) soundPreview(w http.ResponseWriter, r *http.Request, form url.Values, files []staged, problem string) error {
	m, err := s.soundMeasurement(form)
	if err != nil {
		return err
	}
	about := m.About()
	p := soundPreviewPage{Page: Page{Title: "What these recordings are", Nav: "import", Where: []Link{{"Import", "/import"}}},
		Problem: problem, Measurement: about.Title, Takes: about.Recordings, Together: len(files) > 1}
	if problem != "" {
		p.Status = http.StatusUnprocessableEntity
	}
	p.Hidden = append(p.Hidden, Field{Name: "measurement", Value: about.ID})
	for i, st := range files {
		p.Hidden = append(p.Hidden, Field{Name: "file", Value: st.Token})
		src, err := st.source()
		if err != nil {
			return err
		}
		peek, err := workshop.PeekSound(src)
		if err != nil {
			s.stage.drop(st.Token)
			return err
		}
		p.Files = append(p.Files, soundEntry{Name: st.Name, Size: report.Count(int(st.Size), "byte", "bytes"), Form: peek.Form,
			Fields: fill(soundFields(i, about, peek.Channels), form)})
	}
	if p.About, err = s.aboutFields(r, form, about, &intake.Preview{}); err != nil {
		return err
	}
	p.Conditions = fill(conditionFields(about, nil), form)
	if p.Instruments, err = s.instrumentChoices(r, form); err != nil {
		return err
	}
	return s.show(w, r, "soundpreview", p)
}

// soundMeasurement is the measurement that the form names, which must take
// recordings.
func (s *Server) soundMeasurement(form url.Values) (measure.Measurement, error) {
	m, err := s.shop.Registry.Get(form.Get("measurement"))
	if err != nil {
		return nil, err
	}
	if len(m.About().Recordings) == 0 {
		return nil, badRequest("%s takes no recordings: choose another measurement.", m.About().Title)
	}
	return m, nil
}

// soundFields ask what a recording is and what was set while it was made.
func soundFields(i int, about measure.About, channels int) []Field {
	var out []Field
	if len(about.Recordings) > 1 {
		f := Field{Name: fmt.Sprintf("role %d", i), Label: "It is", Kind: "select"}
		for _, spec := range about.Recordings {
			f.Choices = append(f.Choices, Choice{spec.Role, measure.Capital(spec.Title)})
		}
		out = append(out, f)
	}
	if channels > 1 {
		f := Field{Name: fmt.Sprintf("channel %d", i), Label: "Channel", Kind: "select"}
		for c := range channels {
			f.Choices = append(f.Choices, Choice{fmt.Sprint(c + 1), channelName(c, channels)})
		}
		out = append(out, withMean(f))
	}
	asked, of := map[string]bool{}, labelledKinds(about)
	for _, spec := range about.Recordings {
		for _, l := range spec.Labels {
			if asked[l.Name] {
				continue
			}
			asked[l.Name] = true
			f := optionField(l)
			f.Name = fmt.Sprintf("label %d %s", i, l.Name)
			if kinds := of[l.Name]; len(kinds) < len(about.Recordings) {
				f.Help = strings.TrimSpace("For: " + strings.Join(kinds, ", ") + ". " + f.Help)
			}
			out = append(out, f)
		}
	}
	return out
}

// labelledKinds are, for each label, the recordings that it is asked of.
func labelledKinds(about measure.About) map[string][]string {
	out := map[string][]string{}
	for _, spec := range about.Recordings {
		for _, l := range spec.Labels {
			out[l.Name] = append(out[l.Name], spec.Title)
		}
	}
	return out
}

func channelName(c, of int) string {
	if of == 2 {
		return []string{"left", "right"}[c]
	}
	return fmt.Sprint(c + 1)
}

func withMean(f Field) Field {
	f.Choices = append(f.Choices, Choice{"mean", "mean of all"})
	return f
}

// soundFiles reads what was said about each recording.
func soundFiles(form url.Values, files []staged, about measure.About) ([]workshop.SoundFile, error) {
	var out []workshop.SoundFile
	for i, st := range files {
		src, err := st.source()
		if err != nil {
			return nil, err
		}
		f := workshop.SoundFile{Source: src, Role: text(form, fmt.Sprintf("role %d", i)), Labels: map[string]string{}}
		if f.Channel, err = workshop.ParseChannel(text(form, fmt.Sprintf("channel %d", i))); err != nil {
			return nil, badRequest("%s.", measure.Capital(err.Error()))
		}
		for _, spec := range about.Recordings {
			for _, l := range spec.Labels {
				if v := text(form, fmt.Sprintf("label %d %s", i, l.Name)); v != "" {
					f.Labels[l.Name] = v
				}
			}
		}
		out = append(out, f)
	}
	return out, nil
}

// storeSound stores staged recordings as one run, as a job.
func (s *Server) storeSound(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	files, sound, err := s.stagedSound(form)
	if err != nil {
		return err
	}
	if !sound {
		return badRequest("No recording is waiting to be stored.")
	}
	n, _, err := s.newRunOf(r.Context(), form)
	if err != nil {
		return s.soundPreview(w, r, form, files, answerOf(err).text)
	}
	m, err := s.soundMeasurement(form)
	if err != nil {
		return err
	}
	given, err := soundFiles(form, files, m.About())
	if err != nil {
		return s.soundPreview(w, r, form, files, answerOf(err).text)
	}
	for i, st := range files {
		if _, err := s.stage.take(st.Token); err != nil {
			for _, taken := range files[:i] {
				s.stage.giveBack(taken.Token)
			}
			return err
		}
	}
	j := s.jobs.start("Storing "+files[0].Name, s.storingSound(files, given, n))
	if !j.within(s.patience) {
		http.Redirect(w, r, "/jobs/"+j.ID, http.StatusSeeOther)
		return nil
	}
	if j.err != nil {
		if a := answerOf(j.err); a.status >= 500 {
			return j.err
		}
		return s.soundPreview(w, r, form, files, "Not stored. "+answerOf(j.err).text)
	}
	http.Redirect(w, r, j.href, http.StatusSeeOther)
	return nil
}

// storingSound is the job of storing recordings and working the figures out.
func (s *Server) storingSound(files []staged, given []workshop.SoundFile, n workshop.NewRun) work {
	return func(ctx context.Context, progress func(done, of int64)) (string, error) {
		made, err := s.shop.ImportSound(ctx, n, given, func(x float64) { progress(int64(500*x), 1000) })
		if err != nil {
			for _, st := range files {
				s.stage.giveBack(st.Token)
			}
			return "", err
		}
		for _, st := range files {
			s.stage.drop(st.Token)
		}
		_, err = s.shop.Result(ctx, made.ID, nil, func(x float64) { progress(500+int64(500*x), 1000) })
		if err != nil && ctx.Err() == nil {
			s.opt.Log.Printf("web: figures of %s: %v", made.ID, err) // the run's page says so as well
		}
		return "/runs/" + pathOf(made.ID) + "?done=stored", nil
	}
}
