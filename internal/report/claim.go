package report

import (
	"fmt"

	"setwright/internal/workshop"
)

// Claim is a judged claim as it is shown.
type Claim struct {
	ID       string
	Words    string // as its source puts it
	Source   string
	Promise  string // "settling time to ±100 Hz shorter by a third"
	Word     string // "kept"; the same word everywhere
	Slug     string
	Found    string // the change found
	Interval string
	Ratio    string // after over before, 95 % interval
	Needed   string
	Why      string   // why it could not be judged
	Reasons  []string // what the word rests on
	Verdict  *Verdict // of the change as such; nil where there is none
}

// Claims puts the claims of a modification into words.
func Claims(rep workshop.ClaimReport) []Claim {
	var out []Claim
	for _, c := range rep.Claims {
		out = append(out, claimOf(rep, c))
	}
	return out
}

func claimOf(rep workshop.ClaimReport, c workshop.JudgedClaim) Claim {
	out := Claim{
		ID: c.Claim.ID, Words: c.Claim.Words, Source: c.Claim.Source, Promise: workshop.ClaimWords(c.Claim, c.Spec),
		Word: "cannot tell yet", Why: c.Why,
	}
	if v := c.Verdict; v != nil {
		out.Word, out.Needed, out.Reasons = string(v.Word), v.Needed.Sentence, v.Reasons
		if v.Ratio != nil {
			out.Ratio = fmt.Sprintf("%s to %s of what it was", ratio(v.Ratio[0]), ratio(v.Ratio[1]))
		}
	}
	out.Slug = Slug(out.Word)
	if row, ok := rep.ClaimedRow(c); ok && c.Verdict != nil {
		view := VerdictOf(*rep.Comparison, row)
		out.Verdict, out.Found, out.Interval = &view, view.Difference, view.Interval
	}
	return out
}

func ratio(x float64) string { return printer.Told(100*x, "%", 2) }
