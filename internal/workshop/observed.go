package workshop

import "setwright/internal/run"

// Observed is one run's value of a compared figure.
type Observed struct {
	Run    run.Run
	Label  string // names the run within its side
	Figure run.Figure
}

// Observed lists what each run found for a compared figure, in order of time,
// as it was judged: by its size where only the size matters.
func (c Comparison) Observed(row ComparedFigure) (a, b []Observed) {
	return observedIn(c.A, row), observedIn(c.B, row)
}

func observedIn(g Group, row ComparedFigure) []Observed {
	var out []Observed
	for _, r := range g.Results {
		for _, f := range r.Analysis.Figures {
			if f.ID != row.Spec.ID || f.Key(row.Spec.By...) != row.Key {
				continue
			}
			if row.Spec.Magnitude {
				f.Outcome = f.Outcome.Abs()
			}
			out = append(out, Observed{Run: r.Run, Label: runLabel(r.Run), Figure: f})
		}
	}
	return out
}

// ClaimedRow returns the compared figure that a claim is about, with its
// observations; ok is false where no run of both sides gives it.
func (r ClaimReport) ClaimedRow(c JudgedClaim) (row ComparedFigure, ok bool) {
	if r.Comparison == nil {
		return row, false
	}
	found := findRow(*r.Comparison, c.Claim)
	if found == nil {
		return row, false
	}
	if c.Verdict != nil {
		found.Verdict = c.Verdict.Change
	}
	return *found, true
}
