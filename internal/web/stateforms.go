package web

import (
	"context"
	"net/http"
	"net/url"
	"time"

	"setwright/internal/receiver"
	"setwright/internal/workshop"
)

// ofSet returns a set's view for a form, and the way to it.
func (s *Server) ofSet(ctx context.Context, id string) (workshop.SetView, Page, string, error) {
	v, err := s.shop.SetView(ctx, id, false)
	at := "/sets/" + v.Set.ID
	return v, Page{Nav: "shelf", Where: []Link{{"Shelf", "/"}, {v.Set.Name, at}}}, at, err
}

// newConfiguration is the form for another way the set is built.
func (s *Server) newConfiguration(r *http.Request) (formPage, error) {
	v, page, at, err := s.ofSet(r.Context(), r.PathValue("set"))
	if err != nil {
		return formPage{}, err
	}
	page.Title = "Another configuration of " + v.Set.Name
	fields := []Field{{Name: "name", Label: "Name", Required: true, Example: "regulator in", Wide: true}}
	for _, m := range v.Modifications {
		fields = append(fields, Field{Name: "has " + m.Modification.ID, Label: m.Modification.Title + " is in", Kind: "check"})
	}
	fields = append(fields, Field{Name: "parts", Label: "Parts replaced", Kind: "area", Wide: true,
		Help: "In words. Two configurations that differ by one modification and nothing else let it be judged."})
	return formPage{
		Page:  page,
		Intro: "How the set is built: which modifications are in, which parts were replaced. It can come back later; a state says from when on it holds.",
		Form:  Form{Action: at + "/configurations/new", Submit: "Add it", Fields: fields, Cancel: at},
		save: func(form url.Values) (string, error) {
			c := receiver.Configuration{SetID: v.Set.ID, Name: text(form, "name"), Parts: text(form, "parts")}
			for _, m := range v.Modifications {
				if form.Get("has "+m.Modification.ID) != "" {
					c.Modifications = append(c.Modifications, m.Modification.ID)
				}
			}
			made, err := s.shop.AddConfiguration(r.Context(), c)
			return at + "/states/new?" + url.Values{"configuration": {made.ID}}.Encode(), err
		},
	}, nil
}

// editConfiguration is the form to put a configuration right.
func (s *Server) editConfiguration(r *http.Request) (formPage, error) {
	v, page, at, err := s.ofSet(r.Context(), r.PathValue("set"))
	if err != nil {
		return formPage{}, err
	}
	c, err := s.shop.Book.Configuration(r.Context(), r.FormValue("id"))
	if err != nil {
		return formPage{}, err
	}
	page.Title = "Configuration “" + c.Name + "” of " + v.Set.Name
	return formPage{
		Page:  page,
		Intro: "Which modifications are in stays as it is: with others in, it is another configuration.",
		Form: Form{Action: at + "/configurations/edit", Submit: "Keep this", Cancel: at, Hidden: []Field{{Name: "id", Value: c.ID}}, Fields: []Field{
			{Name: "name", Label: "Name", Value: c.Name, Required: true},
			{Name: "parts", Label: "Parts replaced", Value: c.Parts, Kind: "area", Wide: true}}},
		save: func(form url.Values) (string, error) {
			return at + "?done=changed", s.shop.EditConfiguration(r.Context(), c.ID, text(form, "name"), text(form, "parts"), "configuration put right")
		},
	}, nil
}

// newState is the form to start a state.
func (s *Server) newState(r *http.Request) (formPage, error) {
	v, page, at, err := s.ofSet(r.Context(), r.PathValue("set"))
	if err != nil {
		return formPage{}, err
	}
	page.Title = "A new state of " + v.Set.Name
	fields := append([]Field{{Name: "configuration", Label: "How it is built from then on", Kind: "select", Choices: configChoices(v)}},
		stateFields(receiver.State{From: s.shop.Clock()})...)
	return formPage{
		Page:  page,
		Intro: "Any electrical change starts a new state: something soldered, a valve exchanged, an alignment. What a switch or a control does is no state.",
		Form:  Form{Action: at + "/states/new", Submit: "Start it", Fields: fields, Cancel: at},
		save: func(form url.Values) (string, error) {
			st, err := stateOf(form)
			if err != nil {
				return "", err
			}
			st.ConfigurationID = text(form, "configuration")
			_, err = s.shop.AddState(r.Context(), st)
			return at + "?done=added", err
		},
	}, nil
}

// editState is the form to put a state right.
func (s *Server) editState(r *http.Request) (formPage, error) {
	v, page, at, err := s.ofSet(r.Context(), r.PathValue("set"))
	if err != nil {
		return formPage{}, err
	}
	st, err := s.shop.Book.State(r.Context(), r.FormValue("id"))
	if err != nil {
		return formPage{}, err
	}
	page.Title = "State “" + st.Name + "” of " + v.Set.Name
	return formPage{
		Page: page,
		Form: Form{Action: at + "/states/edit", Submit: "Keep this", Fields: stateFields(st), Cancel: at, Hidden: []Field{{Name: "id", Value: st.ID}}},
		save: func(form url.Values) (string, error) {
			changed, err := stateOf(form)
			if err != nil {
				return "", err
			}
			changed.ID = st.ID
			return at + "?done=changed", s.shop.EditState(r.Context(), changed, "state put right")
		},
	}, nil
}

func configChoices(v workshop.SetView) []Choice {
	var out []Choice
	for i := len(v.Configurations) - 1; i >= 0; i-- {
		out = append(out, Choice{v.Configurations[i].ID, v.Configurations[i].Name})
	}
	return out
}

func stateFields(st receiver.State) []Field {
	return []Field{
		{Name: "name", Label: "Name", Value: st.Name, Help: "As the configuration, if nothing is said."},
		{Name: "from", Label: "From", Value: dayField(st.From), Kind: "moment"},
		{Name: "alignment", Label: "Alignment", Value: st.Alignment, Kind: "area", Wide: true, Help: "What was set, with what, to which frequencies; or: left as it was."},
		{Name: "notes", Label: "Notes", Value: st.Notes, Kind: "area", Wide: true},
	}
}

// dayField writes a moment as a form takes it.
func dayField(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02T15:04:05")
}

func stateOf(form url.Values) (receiver.State, error) {
	from, err := when(form, "from", "From")
	return receiver.State{Name: text(form, "name"), From: from, Alignment: text(form, "alignment"), Notes: text(form, "notes")}, err
}
