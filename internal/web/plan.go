package web

import (
	"net/http"
	"strconv"

	"setwright/internal/workshop"
	"setwright/judge"
)

// planPage is the plan of runs for one claim, with the count so far.
type planPage struct {
	Page
	workshop.PlanReport
	Planned  bool // a plan was made
	Problem  string
	Promise  string
	Order    []plannedRun
	Address  string // of the form
	Swaps    []Choice
	Swap     string
	PerDay   string
	Floor    string // the least this bench could resolve
	Promised string
	Matters  string
}

// plannedRun is one run of a plan.
type plannedRun struct {
	Number int
	Side   string // "A" or "B"
	Name   string
	Done   bool
	Next   bool
}

// swaps are the ways in which a modification goes in and out.
var swaps = []Choice{
	{string(judge.BySolder), "by soldering; it can be undone"},
	{string(judge.BySwitch), "by a switch or plug, at once"},
	{string(judge.OneWay), "one way; it cannot be undone"},
}

// plan shows the plan of a claim, or asks for what it needs.
func (s *Server) plan(w http.ResponseWriter, r *http.Request) error {
	rep, ok, err := s.shop.StoredPlan(r.Context(), r.PathValue("claim"))
	if err != nil && rep.Claim.ID == "" {
		return notFoundIfUnknown(err, "")
	}
	p := s.planPage(r, rep, ok)
	if err != nil {
		a := answerOf(err)
		p.Problem, p.Status = a.text, a.status
	}
	return s.show(w, r, "plan", p)
}

// makePlan plans anew and shows the plan, or the form with what was wrong.
func (s *Server) makePlan(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	claim := r.PathValue("claim")
	o := workshop.PlanOptions{Swap: judge.Swap(text(form, "swap"))}
	rep, wrong := workshop.PlanReport{}, ""
	if o.PerDay, wrong = perDay(text(form, "per_day")); wrong == "" {
		if rep, err = s.shop.PlanClaim(r.Context(), claim, o); err == nil {
			http.Redirect(w, r, "/plan/"+pathOf(rep.Claim.ID), http.StatusSeeOther)
			return nil
		}
	}
	stored, ok, storedErr := s.shop.StoredPlan(r.Context(), claim)
	if storedErr != nil && stored.Claim.ID == "" {
		return notFoundIfUnknown(storedErr, "")
	}
	p := s.planPage(r, stored, ok)
	p.Swap, p.PerDay, p.Problem, p.Status = string(o.Swap), text(form, "per_day"), wrong, http.StatusUnprocessableEntity
	if wrong == "" {
		a := answerOf(err)
		p.Problem, p.Status = a.text, a.status
	}
	return s.show(w, r, "plan", p)
}

// perDay reads how many cold starts fit into a day.
func perDay(typed string) (int, string) {
	if typed == "" {
		return 1, ""
	}
	n, err := strconv.Atoi(typed)
	if err != nil || n < 1 || n > 24 {
		return 0, "Cold starts a day: found “" + typed + "”, expected a whole number from 1 to 24. A set needs hours to grow cold."
	}
	return n, ""
}

// planPage puts a plan into the page's words.
func (s *Server) planPage(r *http.Request, rep workshop.PlanReport, made bool) planPage {
	m, set := rep.Modification, rep.Modification.SetID
	if owner, err := s.shop.Book.Set(r.Context(), m.SetID); err == nil {
		set = owner.Name
	}
	p := planPage{
		Page: Page{Title: "Which runs would tell?", Nav: "shelf",
			Where: []Link{{"Shelf", "/"}, {set, "/sets/" + pathOf(m.SetID)}, {m.Title, "/modifications/" + pathOf(m.ID)}}},
		PlanReport: rep, Planned: made, Promise: workshop.ClaimWords(rep.Claim, rep.Spec), Address: "/plan/" + pathOf(rep.Claim.ID),
		Swaps: swaps, Swap: string(rep.Options.Swap), PerDay: strconv.Itoa(max(1, rep.Options.PerDay)),
	}
	if made {
		unit := rep.Spec.Unit
		p.Order = orderOf(rep.Plan, rep.Progress)
		p.Floor, p.Promised, p.Matters = toldAmount(rep.Plan.Floor, unit), toldAmount(rep.Plan.Promised, unit), toldAmount(rep.Plan.Matters, unit)
	}
	return p
}

// orderOf lists the runs of a plan, those made marked: as many of each state,
// from the front, as were made.
func orderOf(plan judge.Plan, progress judge.Progress) []plannedRun {
	left := map[string]int{plan.NameA: progress.DoneA, plan.NameB: progress.DoneB}
	var out []plannedRun
	next := false
	for i, name := range plan.Order {
		one := plannedRun{Number: i + 1, Side: "A", Name: name, Done: left[name] > 0}
		if name == plan.NameB {
			one.Side = "B"
		}
		left[name]--
		if !one.Done && !next && name == progress.Next {
			one.Next, next = true, true
		}
		out = append(out, one)
	}
	return out
}

// toldAmount prints an amount to three digits; nothing for none.
func toldAmount(x float64, unit string) string {
	if x == 0 {
		return ""
	}
	return printer.Told(x, unit, 3)
}
