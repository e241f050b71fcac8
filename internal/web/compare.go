package web

import (
	"fmt"
	"net/http"
	"net/url"

	"setwright/internal/report"
	"setwright/internal/workshop"
)

// comparePage is two sides compared. Without both sides it only asks for them.
type comparePage struct {
	Page
	Sides      []sideGroup
	A, B       string // as chosen
	Measure    Field  // the measurement, as chosen
	Also       []Link // the same sides on other measurements
	Paired     bool   // runs of one day are pairs
	Problem    string // why there is no comparison
	Comparison *workshop.Comparison
	NameA      string // within one set the state is enough
	NameB      string
	Verdicts   []report.Verdict
	Invented   bool
}

// sideGroup is the sides of one set, for a choice.
type sideGroup struct {
	Set   string
	Sides []Choice
}

// judgingRoutes are the addresses of comparing and judging.
func (s *Server) judgingRoutes(handle func(string, func(http.ResponseWriter, *http.Request) error)) {
	handle("GET /compare", s.compare)
	handle("GET /compare/verdicts.json", s.compareDocument)
	handle("GET /modifications/{id...}", s.modification)
	handle("GET /plan/{claim...}", s.plan)
	handle("POST /plan/{claim...}", s.makePlan)
	handle("GET /amounts", s.amounts)
	handle("POST /amounts", s.setAmount)
	handle("GET /record/{set}", s.record)
	handle("GET /card/{measurement}", s.card)
	handle("GET /card/{measurement}/enter", s.askCard)
	handle("POST /card/{measurement}/enter", s.takeCard)
}

// compare shows the comparison of two sides.
func (s *Server) compare(w http.ResponseWriter, r *http.Request) error {
	p := comparePage{Page: Page{Title: "Compare", Nav: "compare", Where: []Link{{"Shelf", "/"}}}}
	var err error
	if p.Sides, err = s.sideGroups(r); err != nil {
		return err
	}
	form := r.URL.Query()
	p.A, p.B, p.Paired = text(form, "a"), text(form, "b"), form.Get("paired") != ""
	p.Measure = fill([]Field{{Name: "measurement", Label: "Measurement", Kind: "select", Wide: true,
		Choices: append([]Choice{{"", "the first that both sides have runs of"}}, s.kinds()...)}}, form)[0]
	if p.A == "" || p.B == "" {
		return s.show(w, r, "compare", p)
	}
	c, err := s.shop.Compare(r.Context(), p.A, p.B, workshop.CompareOptions{PairByDay: p.Paired, Measurement: p.Measure.Value})
	if err != nil {
		a := answerOf(err)
		if a.status >= 500 {
			return err
		}
		p.Problem, p.Status = a.text, a.status
		return s.show(w, r, "compare", p)
	}
	p.tell(c)
	return s.show(w, r, "compare", p)
}

// tell fills in a comparison.
func (p *comparePage) tell(c workshop.Comparison) {
	p.Comparison, p.A, p.B = &c, c.A.Selector, c.B.Selector
	p.NameA, p.NameB = report.SideName(c, c.A), report.SideName(c, c.B)
	p.Title = fmt.Sprintf("%s against %s", c.B.Name, c.A.Name)
	if c.A.Set.ID == c.B.Set.ID {
		p.Title = fmt.Sprintf("%s: %s against %s", c.A.Set.Name, p.NameB, p.NameA)
		p.Where = append(p.Where, Link{c.A.Set.Name, "/sets/" + pathOf(c.A.Set.ID)})
	}
	p.Measure.Value = c.About.ID
	for _, m := range c.Also {
		q := url.Values{"a": {p.A}, "b": {p.B}, "measurement": {m.ID}}
		if p.Paired {
			q.Set("paired", "1")
		}
		p.Also = append(p.Also, Link{m.Title, "/compare?" + q.Encode()})
	}
	p.Invented = c.A.Set.Invented || c.B.Set.Invented
	if !c.Fairness.Blocked {
		p.Verdicts = report.Verdicts(c)
	}
}

// kinds are all measurements.
func (s *Server) kinds() []Choice {
	var out []Choice
	for _, id := range s.shop.Registry.IDs() {
		if m, err := s.shop.Registry.Get(id); err == nil {
			out = append(out, Choice{id, m.About().Title})
		}
	}
	return out
}

// sideGroups lists what can be compared, by set.
func (s *Server) sideGroups(r *http.Request) ([]sideGroup, error) {
	targets, err := s.shop.Sides(r.Context())
	if err != nil {
		return nil, err
	}
	var out []sideGroup
	for _, t := range targets {
		if n := len(out); n == 0 || out[n-1].Set != t.Set.Name {
			out = append(out, sideGroup{Set: t.Set.Name})
		}
		last := &out[len(out)-1]
		last.Sides = append(last.Sides, Choice{t.ID, sideChoice(t)})
	}
	return out, nil
}

// sideChoice says what kind of thing a side is.
func sideChoice(t workshop.Target) string {
	switch t.Kind {
	case workshop.IsSet:
		return t.Name + ", all of its runs"
	case workshop.IsState:
		return fmt.Sprintf("%s, the state from %s", t.Name, report.Day(t.States[0].From))
	}
	return t.Name
}

// compareDocument is the comparison as one JSON object.
func (s *Server) compareDocument(w http.ResponseWriter, r *http.Request) error {
	form := r.URL.Query()
	c, err := s.shop.Compare(r.Context(), text(form, "a"), text(form, "b"), workshop.CompareOptions{PairByDay: form.Get("paired") != "", Measurement: text(form, "measurement")})
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	return s.broken(c.Document().Write(w))
}
