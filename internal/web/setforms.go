package web

import (
	"net/http"
	"net/url"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// newSet is the form to take in a set.
func (s *Server) newSet(r *http.Request) (formPage, error) {
	fields := append(setFields(receiver.Set{}), Field{Name: "found", Label: "Came in on", Kind: "date", Help: "Today, if nothing is said."})
	return formPage{
		Page:  Page{Title: "Take in a set", Nav: "shelf", Where: []Link{{"Shelf", "/"}}},
		Intro: "Only the name is needed; the rest can follow. Its first state, “as found”, is made with it.",
		Form:  Form{Action: "/sets", Submit: "Take it in", Fields: fields, Cancel: "/"},
		save: func(form url.Values) (string, error) {
			set, err := setOf(form)
			if err != nil {
				return "", err
			}
			found, err := when(form, "found", "Came in on")
			if err != nil {
				return "", err
			}
			made, err := s.shop.AddSet(r.Context(), set, found)
			return "/sets/" + made.ID + "?done=taken-in", err
		},
	}, nil
}

// editSet is the form to put the description of a set right.
func (s *Server) editSet(r *http.Request) (formPage, error) {
	old, err := s.shop.Book.Set(r.Context(), r.PathValue("set"))
	if err != nil {
		return formPage{}, err
	}
	at := "/sets/" + old.ID
	return formPage{
		Page: Page{Title: "Describe " + old.Name, Nav: "shelf", Where: []Link{{"Shelf", "/"}, {old.Name, at}}},
		Form: Form{Action: at, Submit: "Keep this", Fields: setFields(old), Cancel: at},
		save: func(form url.Values) (string, error) {
			set, err := setOf(form)
			if err != nil {
				return "", err
			}
			set.ID, set.Invented = old.ID, old.Invented
			return at + "?done=changed", s.shop.EditSet(r.Context(), set, "description put right")
		},
	}, nil
}

// setFields are the entries that describe a set.
func setFields(set receiver.Set) []Field {
	ifText := ""
	if set.IFHz > 0 {
		ifText = quantity.FormatNumber(set.IFHz, "Hz")
	}
	var bands, stages []string
	for _, b := range set.Bands {
		bands = append(bands, workshop.BandText(b))
	}
	for _, st := range set.Stages {
		stages = append(stages, workshop.StageText(st))
	}
	return []Field{
		{Name: "name", Label: "Name", Value: set.Name, Required: true, Help: "What you call it."},
		{Name: "serial", Label: "Serial or museum number", Value: set.Serial},
		{Name: "if", Label: "Nominal intermediate frequency", Value: ifText, Example: "612 kHz"},
		{Name: "kind", Label: "What it is", Value: set.Kind, Example: "single superhet, six bands", Wide: true},
		{Name: "origin", Label: "Where it came from", Value: set.Origin, Wide: true},
		{Name: "as_found", Label: "How it was found", Value: set.AsFound, Kind: "area", Wide: true, Help: "Before anything is touched: what is missing, burnt, altered; what earlier owners did."},
		{Name: "bands", Label: "Bands, one a line", Value: strings.Join(bands, "\n"), Kind: "area", Wide: true, Help: "Such as: D = 3.1 MHz .. 8.6 MHz"},
		{Name: "stages", Label: "Stages and valves, one a line", Value: strings.Join(stages, "\n"), Kind: "area", Wide: true, Help: "Such as: V3 = local oscillator = 6J5"},
		{Name: "cautions", Label: "What is dangerous about it", Value: set.Cautions, Kind: "area", Wide: true, Help: "A live chassis, radium paint on the dial, asbestos: said again wherever a hand goes in."},
	}
}

// setOf reads the entries that describe a set.
func setOf(form url.Values) (receiver.Set, error) {
	set := receiver.Set{
		Name: text(form, "name"), Serial: text(form, "serial"), Kind: text(form, "kind"), Origin: text(form, "origin"),
		AsFound: text(form, "as_found"), Cautions: text(form, "cautions"),
	}
	var err error
	if typed := text(form, "if"); typed != "" {
		if set.IFHz, err = measure.ParseNumber(typed, "Hz"); err != nil {
			return set, err
		}
	}
	for _, line := range rows(form.Get("bands")) {
		b, err := workshop.ParseBand(line)
		if err != nil {
			return set, err
		}
		set.Bands = append(set.Bands, b)
	}
	for _, line := range rows(form.Get("stages")) {
		st, err := workshop.ParseStage(line)
		if err != nil {
			return set, err
		}
		set.Stages = append(set.Stages, st)
	}
	return set, nil
}

// rows splits a text into its lines, empty ones left out.
func rows(s string) []string {
	var out []string
	for _, line := range strings.Split(s, "\n") {
		if line = strings.TrimSpace(line); line != "" {
			out = append(out, line)
		}
	}
	return out
}
