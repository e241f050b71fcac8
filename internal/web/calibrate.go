package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"

	"setwright/internal/run"
	"setwright/internal/workshop"
)

// calibratePage asks for recordings of known things, by which a sound input
// becomes a measuring instrument.
type calibratePage struct {
	Page
	Problem string
	Fields  []Field
	Parts   []calibratePart
}

// calibratePart is one known thing: a file, and what is known of it.
type calibratePart struct {
	Name, Title, Help string
	Fields            []Field
}

func (s *Server) calibrateForm(w http.ResponseWriter, r *http.Request) error {
	return s.calibrateWith(w, r, url.Values{}, "")
}

func (s *Server) calibrateWith(w http.ResponseWriter, r *http.Request, sent url.Values, problem string) error {
	all, err := s.shop.Book.Instruments(r.Context())
	if err != nil {
		return err
	}
	known := []Choice{{"", "a new one, named below"}}
	seen := map[string]bool{}
	for _, in := range all {
		if in.Reads == run.ReadsSound && !seen[in.ID] {
			seen[in.ID] = true
			known = append(known, Choice{in.ID, in.Name})
		}
	}
	p := calibratePage{Page: Page{Title: "Calibrate a sound input", Nav: "instruments", Where: []Link{{"Instruments", "/instruments"}}}, Problem: problem}
	if problem != "" {
		p.Status = http.StatusUnprocessableEntity
	}
	p.Fields = fill([]Field{
		{Name: "instrument", Label: "Sound input", Kind: "select", Choices: known},
		{Name: "name", Label: "Name of a new one", Example: "line input of the bench computer", Help: "With the setting of its gain: the level holds for that alone."},
		{Name: "valid", Label: "Holds for", Value: "365 d", Help: "After that every figure says that it has run out."},
		{Name: "channel", Label: "Channel of the recordings", Kind: "select", Choices: []Choice{{"1", "left, or the only one"}, {"2", "right"}, {"mean", "mean of all"}}},
	}, sent)
	uncertain := "One standard uncertainty, as a part of it or in its unit."
	p.Parts = []calibratePart{
		{"level", "Level", "One tone whose rms voltage a meter read at the input, with the gain where it will stay.", fill([]Field{
			{Name: "volts", Label: "Rms voltage", Example: "0.775 V"}, {Name: "volts-u", Label: "Its uncertainty", Example: "1 %", Help: uncertain}}, sent)},
		{"rate", "Sample rate", "A tone of known frequency, half a minute or more: from a generator or as a counter read it. Or the second ticks of a standard-frequency broadcast, two minutes or more.", fill([]Field{
			{Name: "frequency", Label: "True frequency", Example: "1000 Hz"}, {Name: "frequency-u", Label: "Its uncertainty", Example: "0.5 ppm", Help: uncertain},
			{Name: "ticks", Label: "It holds second ticks instead", Kind: "check"}}, sent)},
		{"quiet", "Own noise", "Nothing playing, the input terminated by a resistor of the set’s output load.", nil},
		{"loop", "Own distortion", "A pure tone from the computer's own output, by a short cable.", nil},
	}
	return s.show(w, r, "calibrate", p)
}

// calibrate takes the recordings in and calibrates by them.
func (s *Server) calibrate(w http.ResponseWriter, r *http.Request) error {
	form, parts, err := s.stagedParts(w, r)
	if err != nil {
		return err
	}
	files := map[string]staged{}
	for _, x := range parts {
		files[x.field] = x.staged
	}
	c, err := calibrationOf(form, files)
	if err != nil {
		s.dropParts(parts)
		return s.notCalibrated(w, r, form, err)
	}
	j := s.jobs.start("Calibrating the sound input", func(ctx context.Context, progress func(done, of int64)) (string, error) {
		defer s.dropParts(parts)
		_, _, err := s.shop.CalibrateSound(ctx, c, func(x float64) { progress(int64(1000*x), 1000) })
		return "/instruments?done=calibrated", err
	})
	if !j.within(s.patience) {
		http.Redirect(w, r, "/jobs/"+j.ID, http.StatusSeeOther)
		return nil
	}
	if j.err != nil {
		return s.notCalibrated(w, r, form, j.err)
	}
	http.Redirect(w, r, j.href, http.StatusSeeOther)
	return nil
}

// notCalibrated shows the form again with what was wrong.
func (s *Server) notCalibrated(w http.ResponseWriter, r *http.Request, form url.Values, err error) error {
	a := answerOf(err)
	if a.status >= 500 {
		return err
	}
	return s.calibrateWith(w, r, form, "Not calibrated. "+a.text+" The files have to be chosen again.")
}

// calibrationOf reads what was given.
func calibrationOf(form url.Values, files map[string]staged) (workshop.SoundCalibration, error) {
	c := workshop.SoundCalibration{Instrument: text(form, "instrument"), Name: text(form, "name"), Ticks: form.Get("ticks") != ""}
	channel, err := workshop.ParseChannel(text(form, "channel"))
	if err != nil {
		return c, err
	}
	for _, x := range []struct {
		name string
		to   **workshop.SoundFile
	}{{"level", &c.Level}, {"rate", &c.Rate}, {"quiet", &c.Quiet}, {"loop", &c.Loop}} {
		st, ok := files[x.name]
		if !ok {
			continue
		}
		src, err := st.source()
		if err != nil {
			return c, err
		}
		*x.to = &workshop.SoundFile{Source: src, Channel: channel}
	}
	if c.Level != nil {
		if c.Volts, err = workshop.ParseKnown("rms voltage", text(form, "volts"), text(form, "volts-u"), "V"); err != nil {
			return c, err
		}
	}
	if c.Rate != nil && !c.Ticks {
		if c.Hz, err = workshop.ParseKnown("true frequency", text(form, "frequency"), text(form, "frequency-u"), "Hz"); err != nil {
			return c, err
		}
	}
	c.ValidFor, err = workshop.ParseValidity(text(form, "valid"))
	if err != nil {
		return c, fmt.Errorf("holds for: %w", err)
	}
	return c, nil
}
