package web

import (
	"net/http"
	"net/url"
	"sort"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/workshop"
)

// newModification is the form for a change to the original circuit.
func (s *Server) newModification(r *http.Request) (formPage, error) {
	v, page, at, err := s.ofSet(r.Context(), r.PathValue("set"))
	if err != nil {
		return formPage{}, err
	}
	page.Title = "A modification of " + v.Set.Name
	return formPage{
		Page:  page,
		Intro: "A change to the original circuit, found or planned. It can be written down before anybody solders: then say what it is said to do, and plan the runs that will tell.",
		Form:  Form{Action: at + "/modifications/new", Submit: "Add it", Fields: modificationFields(receiver.Modification{}), Cancel: at},
		save: func(form url.Values) (string, error) {
			m := modificationOf(form)
			m.SetID = v.Set.ID
			made, err := s.shop.AddModification(r.Context(), m)
			return at + "/claims/new?" + url.Values{"modification": {made.ID}}.Encode(), err
		},
	}, nil
}

// editModification is the form to put a modification right.
func (s *Server) editModification(r *http.Request) (formPage, error) {
	_, page, at, err := s.ofSet(r.Context(), r.PathValue("set"))
	if err != nil {
		return formPage{}, err
	}
	m, err := s.shop.Book.Modification(r.Context(), r.FormValue("id"))
	if err != nil {
		return formPage{}, err
	}
	page.Title = m.Title
	return formPage{
		Page: page,
		Form: Form{Action: at + "/modifications/edit", Submit: "Keep this", Fields: modificationFields(m), Cancel: at, Hidden: []Field{{Name: "id", Value: m.ID}}},
		save: func(form url.Values) (string, error) {
			changed := modificationOf(form)
			changed.ID = m.ID
			return at + "?done=changed", s.shop.EditModification(r.Context(), changed, "description put right")
		},
	}, nil
}

func modificationFields(m receiver.Modification) []Field {
	return []Field{
		{Name: "title", Label: "What it is called", Value: m.Title, Required: true, Example: "compensating pair in the oscillator", Wide: true},
		{Name: "acts_on", Label: "Acts on", Value: strings.Join(m.ActsOn, ", "), Example: "local oscillator", Help: "Separated by commas."},
		{Name: "look_for", Label: "What gives it away", Value: m.LookFor},
		{Name: "undo", Label: "How it is undone", Value: m.Undo, Kind: "area", Wide: true, Help: "And where the original parts are."},
		{Name: "source", Label: "Where it was found or described", Value: m.Source, Wide: true},
	}
}

func modificationOf(form url.Values) receiver.Modification {
	return receiver.Modification{Title: text(form, "title"), ActsOn: lines(form.Get("acts_on")), LookFor: text(form, "look_for"),
		Undo: text(form, "undo"), Source: text(form, "source")}
}

// newClaim is the form for what a modification is said to do.
func (s *Server) newClaim(r *http.Request) (formPage, error) {
	_, page, at, err := s.ofSet(r.Context(), r.PathValue("set"))
	if err != nil {
		return formPage{}, err
	}
	m, err := s.shop.FindModification(r.Context(), r.FormValue("modification"))
	if err != nil {
		return formPage{}, err
	}
	amounts, err := s.shop.Amounts(r.Context())
	if err != nil {
		return formPage{}, err
	}
	page.Title = "What “" + m.Title + "” is said to do"
	return formPage{
		Page:  page,
		Intro: "A claim is a figure, a direction and an amount, with who says so. It is judged on runs with the modification out and in, everything else the same.",
		Form: Form{Action: at + "/claims/new", Submit: "Add the claim", Fields: claimFields(amounts), Cancel: at,
			Hidden: []Field{{Name: "modification", Value: m.ID}}},
		save: func(form url.Values) (string, error) {
			c, err := claimOf(form, amounts)
			if err != nil {
				return "", err
			}
			_, err = s.shop.AddClaim(r.Context(), m.ID, c)
			return at + "?done=added", err
		},
	}, nil
}

// claimFields are the entries of a claim; a figure that comes in several kinds
// asks which one.
func claimFields(amounts []workshop.Amount) []Field {
	var figures []Choice
	by := map[string][]string{}
	for _, a := range amounts {
		figures = append(figures, Choice{a.Figure.ID, measure.Capital(a.Figure.Title)})
		for _, name := range a.Figure.By {
			by[name] = append(by[name], a.Figure.Title)
		}
	}
	fields := []Field{
		{Name: "figure", Label: "Figure", Kind: "select", Choices: figures},
		{Name: "direction", Label: "Is said to become", Kind: "select", Choices: []Choice{
			{string(receiver.Smaller), "smaller"}, {string(receiver.Larger), "larger"}, {string(receiver.Unchanged), "or stay unchanged"}}},
		{Name: "amount", Label: "By how much", Example: "1/3", Help: "A share of the value before (1/3, 33 %) or an amount (500 Hz). Empty: only the direction is claimed."},
	}
	for _, name := range sortedKeys(by) {
		fields = append(fields, Field{Name: "by " + name, Label: measure.Capital(conditionLabel(name)), Help: "For " + strings.Join(by[name], ", ") + "."})
	}
	return append(fields,
		Field{Name: "words", Label: "As its source puts it", Wide: true, Help: "Written for you, if left empty."},
		Field{Name: "source", Label: "Who says so", Wide: true})
}

// dropClaim takes a claim out of its modification.
func (s *Server) dropClaim(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	if err := s.shop.DropClaim(r.Context(), text(form, "claim"), ""); err != nil {
		return err
	}
	http.Redirect(w, r, "/sets/"+r.PathValue("set")+"?done=changed", http.StatusSeeOther)
	return nil
}

func sortedKeys(m map[string][]string) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// conditionLabel writes the name of a condition: the unit at its end goes into
// brackets.
func conditionLabel(name string) string {
	for suffix, unit := range map[string]string{"_hz": "Hz", "_s": "s"} {
		if base, ok := strings.CutSuffix(name, suffix); ok {
			return strings.ReplaceAll(base, "_", " ") + " (" + unit + ")"
		}
	}
	return strings.ReplaceAll(name, "_", " ")
}

func claimOf(form url.Values, amounts []workshop.Amount) (receiver.Claim, error) {
	c := receiver.Claim{Figure: text(form, "figure"), Direction: receiver.Direction(text(form, "direction")),
		Words: text(form, "words"), Source: text(form, "source"), Conditions: map[string]string{}}
	spec := specOf(amounts, c.Figure)
	for _, name := range spec.By {
		typed := text(form, "by "+name)
		if typed == "" {
			continue
		}
		var err error
		if c.Conditions[name], err = workshop.ParseCondition(name, typed); err != nil {
			return c, err
		}
	}
	var err error
	c.Amount, c.Relative, err = workshop.ParseAmount(text(form, "amount"), spec.Unit)
	return c, err
}

func specOf(amounts []workshop.Amount, figure string) measure.FigureSpec {
	for _, a := range amounts {
		if a.Figure.ID == figure {
			return a.Figure
		}
	}
	return measure.FigureSpec{}
}
