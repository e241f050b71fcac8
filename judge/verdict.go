package judge

import "setwright/quantity"

// Verdict is a judged difference of one figure: b less a, in Unit.
//
// A and B are the means of the groups and Difference is what is left after
// shared errors have cancelled; each carries its run-to-run scatter as sources
// of its own. With bounds and intervals these stand at the limits and middles,
// and AForm, BForm and DifferenceForm say in which form each is known.
type Verdict struct {
	Word         Word   `json:"verdict"`
	Figure       string `json:"figure"`
	Unit         string `json:"unit,omitempty"`
	NameA, NameB string `json:"-"`
	NA           int    `json:"runs_a"`
	NB           int    `json:"runs_b"`

	A              quantity.Value   `json:"a"`
	B              quantity.Value   `json:"b"`
	Difference     quantity.Value   `json:"difference"`
	AForm          quantity.Outcome `json:"-"`
	BForm          quantity.Outcome `json:"-"`
	DifferenceForm quantity.Outcome `json:"-"`

	// Tested is false where no test could be made: a single run without known
	// scatter, nothing to compare, choices. P values are then 1.
	Tested  bool        `json:"tested"`
	Matters float64     `json:"matters"`        // Δ in Unit
	DoF     float64     `json:"dof,omitempty"`  // 0: infinitely many
	CI95    *[2]float64 `json:"ci95,omitempty"` // of the difference; the hull of all that intervals allow
	P       float64     `json:"p"`              // of "no difference at all", two-sided
	PLarge  float64     `json:"p_large"`        // of "not beyond Δ", twice one-sided
	TOST    TOST        `json:"tost"`           // of "not within ±Δ"

	// Adjusted holds the p values after Holm's step-down, where figures were
	// judged together; the word, and whether TOST holds, rest on these.
	Adjusted *Adjusted `json:"adjusted,omitempty"`

	ScatterA SideScatter `json:"-"`
	ScatterB SideScatter `json:"-"`
	Paired   bool        `json:"paired"`
	Pairs    int         `json:"pairs,omitempty"`

	Shared []quantity.Effect `json:"-"` // sources that act on both sides, and what is left of them
	Budget []quantity.Share  `json:"-"` // of the difference

	Needed  Needed     `json:"needed"`
	Apart   []Apart    `json:"apart,omitempty"`
	Without *Without   `json:"without,omitempty"` // where the word turns without the runs that stand apart
	Rank    *RankCheck `json:"rank,omitempty"`    // beside the verdict, never in place of it

	Reasons []string `json:"reasons,omitempty"`

	better     Direction
	statements statements
}

// Without is the verdict with the runs that stand apart left out.
type Without struct {
	Word       Word           `json:"verdict"`
	Difference quantity.Value `json:"difference"`
}

// Cancelled lists the shared sources of which nothing or nearly nothing is left
// in the difference.
func (v Verdict) Cancelled() []quantity.Effect {
	var out []quantity.Effect
	for _, e := range v.Shared {
		if e.Cancelled() {
			out = append(out, e)
		}
	}
	return out
}

func (v *Verdict) say(reason string) { v.Reasons = append(v.Reasons, reason) }
