package web

import (
	"net/http"
	"net/url"

	"setwright/internal/report"
	"setwright/internal/workshop"
)

// modificationPage is a modification with its claims judged.
type modificationPage struct {
	Page
	workshop.ClaimReport
	Claims       []report.Claim
	NameA, NameB string // of the sides, where there are two
	Verdicts     []report.Verdict
	In           []string // configurations that have it in
	NewClaim     string   // address of the form for another claim
	Edit         string
}

// modification shows a modification and whether it keeps its promises.
func (s *Server) modification(w http.ResponseWriter, r *http.Request) error {
	rep, err := s.shop.JudgeModification(r.Context(), r.PathValue("id"), workshop.CompareOptions{})
	if err != nil {
		return notFoundIfUnknown(err, rep.Modification.ID)
	}
	m, at := rep.Modification, "/sets/"+pathOf(rep.Set.ID)
	p := modificationPage{
		Page:        Page{Title: m.Title, Nav: "shelf", Where: []Link{{"Shelf", "/"}, {rep.Set.Name, at}}},
		ClaimReport: rep, Claims: report.Claims(rep),
		NewClaim: at + "/claims/new?" + url.Values{"modification": {m.ID}}.Encode(),
		Edit:     at + "/modifications/edit?" + url.Values{"id": {m.ID}}.Encode(),
	}
	if c := rep.Comparison; c != nil {
		p.NameA, p.NameB = report.SideName(*c, c.A), report.SideName(*c, c.B)
		if !c.Fairness.Blocked {
			p.Verdicts = report.Verdicts(*c)
		}
	}
	if p.In, err = s.shop.ConfigurationsWith(r.Context(), m); err != nil {
		return err
	}
	return s.show(w, r, "modification", p)
}

// notFoundIfUnknown makes an answer of 404 of an error about something that the
// book does not have.
func notFoundIfUnknown(err error, found string) error {
	if a := answerOf(err); found == "" && a.status == http.StatusUnprocessableEntity {
		return notThere("%s", a.text)
	}
	return err
}
