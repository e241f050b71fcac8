package web

import (
	"net/http"
	"net/url"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// instrumentsPage lists the instruments of the bench.
type instrumentsPage struct {
	Page
	All []run.Instrument
}

// instruments shows the instruments of the bench.
func (s *Server) instruments(w http.ResponseWriter, r *http.Request) error {
	all, err := s.shop.Book.Instruments(r.Context())
	if err != nil {
		return err
	}
	return s.show(w, r, "instruments", instrumentsPage{Page: Page{Title: "Instruments of the bench", Nav: "instruments", Notice: notices[r.URL.Query().Get("done")]}, All: all})
}

// newInstrument is the form for an instrument, or for a new calibration of one.
func (s *Server) newInstrument(r *http.Request) (formPage, error) {
	var reads []Choice
	units := map[string]string{}
	for _, c := range s.shop.Registry.Readable() {
		reads, units[c.Role] = append(reads, Choice{c.Role, c.Title + " (" + c.Unit + ")"}), c.Unit
	}
	return formPage{
		Page: Page{Title: "An instrument of the bench", Nav: "instruments", Where: []Link{{"Instruments", "/instruments"}}},
		Intro: "Readings of one instrument share its error. Runs that name it can be compared without that error standing in the way, as far as it was the same. " +
			"A new calibration is a new entry under the same name, with its own date.",
		Form: Form{Action: "/instruments", Submit: "Add it", Cancel: "/instruments", Fields: []Field{
			{Name: "name", Label: "Name", Required: true, Example: "counter on the left shelf"},
			{Name: "reads", Label: "Reads", Kind: "select", Choices: reads},
			{Name: "relative", Label: "Error in proportion to the reading", Example: "1 ppm", Help: "One standard uncertainty, common to all readings."},
			{Name: "absolute", Label: "Error whatever the reading", Example: "0.2 °C", Help: "One standard uncertainty, in the unit of what it reads; of a generator's level in dB."},
			{Name: "resolution", Label: "One step of its display", Example: "10 Hz"},
			{Name: "epoch", Label: "Calibrated, or last adjusted", Example: "2024-03", Help: "Readings before and after do not share their error."},
			{Name: "cell", Label: "Range it was used on", Help: "Only where ranges have errors of their own."},
		}},
		save: func(form url.Values) (string, error) {
			in, err := instrumentOf(form, units)
			if err == nil {
				_, err = s.shop.AddInstrument(r.Context(), in)
			}
			return "/instruments?done=added", err
		},
	}, nil
}

func instrumentOf(form url.Values, units map[string]string) (run.Instrument, error) {
	in := run.Instrument{Name: text(form, "name"), Reads: text(form, "reads"), Epoch: text(form, "epoch"), Cell: text(form, "cell")}
	unit, ok := units[in.Reads]
	unit = workshop.ErrorUnit(unit)
	if !ok {
		return in, badRequest("Reads: found %q, expected one of the quantities offered.", in.Reads)
	}
	for _, x := range []struct {
		name, unit string
		to         *float64
	}{{"relative", "1", &in.Relative}, {"absolute", unit, &in.Absolute}, {"resolution", unit, &in.Resolution}} {
		typed := text(form, x.name)
		if typed == "" {
			continue
		}
		var err error
		if *x.to, err = measure.ParseNumber(typed, x.unit); err != nil {
			return in, err
		}
	}
	return in, nil
}
