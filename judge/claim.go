package judge

import (
	"fmt"
	"math"

	"setwright/quantity"
)

// ClaimWord is a verdict on a claim.
type ClaimWord string

// The words of a verdict on a claim.
const (
	Kept         ClaimWord = "kept"
	KeptInPart   ClaimWord = "kept in part"
	NotKept      ClaimWord = "not kept"
	CannotTellIf ClaimWord = "cannot tell yet"
)

// Claim is what a modification is said to do to a figure: "settling time shorter
// by a third" is Smaller, 1/3, Relative. Amount is positive; Relative makes it a
// fraction of the value before. For Unchanged, Amount is how far it may move (0:
// the amount that matters).
type Claim struct {
	Figure    string
	Direction Direction
	Amount    float64
	Relative  bool
}

// ClaimVerdict is a judged claim. Change is the verdict on the difference as
// such; its word is judged with the criterion's own better direction. Ratio is
// after/before with its 95 % interval by Fieller, nil where it is open.
//
// With the promised direction counted positive, G the true change and Δ the
// amount that matters:
//
//   - kept: G is certainly more than promised less Δ (one-sided 5 %: what is
//     missing, if anything, is too small to matter), and certainly has the
//     promised direction (two-sided 5 %);
//   - not kept: the change is certainly within ±Δ (two one-sided tests at 5 %),
//     or certainly has the other direction (two-sided 5 %);
//   - kept in part: the direction is certain (two-sided 5 %), and the change
//     is certainly less than promised (one-sided 2.5 %);
//   - cannot tell yet: the rest; also where the change is certainly less than
//     promised, but it isn't shown that there is any: see LessThanPromised.
//
// They are tried in this order. A promise of a fraction is tested on after −
// (1 ∓ Amount)·before, which is Fieller's test of the ratio. "Unchanged" is kept
// where equivalence is shown, not kept where the change is certainly beyond the
// margin (95 % interval), else it can't be told.
type ClaimVerdict struct {
	Word             ClaimWord `json:"verdict"`
	Claim            Claim     `json:"-"`
	Change           Verdict   `json:"change"`
	Promised         float64   `json:"promised"` // change promised, signed, in the figure's unit
	PKept            float64   `json:"p_kept"`
	PShort           float64   `json:"p_short"` // twice one-sided, against "at least as promised"
	LessThanPromised bool      `json:"less_than_promised,omitempty"`

	Ratio   *[2]float64 `json:"ratio95,omitempty"`
	Needed  Needed      `json:"needed"`
	Reasons []string    `json:"reasons,omitempty"`

	// Family is how many claims were judged together; 0 for one alone.
	Family int `json:"family,omitempty"`

	wrong      string
	alone      ClaimWord // before the family's adjustment
	statements claimStatements
}

// JudgeClaim judges a claim on the runs before and after. It never fails; what
// can't be judged gives "cannot tell yet" with the reason.
func JudgeClaim(before, after Side, claim Claim, c Criterion, opt Options) ClaimVerdict {
	q := ClaimQuestion{Before: before, After: after, Claim: claim, Criterion: c, Options: opt}
	v := q.test()
	v.conclude(q, alpha)
	return v
}

// test makes the statements and leaves the word open.
func (q ClaimQuestion) test() ClaimVerdict {
	opt := q.Options
	opt.NoNeeded = true
	v := ClaimVerdict{Word: CannotTellIf, Claim: q.Claim, PKept: 1, PShort: 1, statements: noClaimStatements()}
	v.Change = Compare(q.Before, q.After, q.criterion(), opt)
	v.Reasons = append(v.Reasons, v.Change.Reasons...)
	if v.wrong = q.Claim.wrong(); v.wrong == "" {
		v.testStatements(q)
	}
	return v
}

// criterion is the criterion with the amount that an "unchanged" claim allows.
func (q ClaimQuestion) criterion() Criterion {
	c := q.Criterion
	if q.Claim.Direction == Unchanged && q.Claim.Amount > 0 {
		c.Matters, c.Relative = q.Claim.Amount, q.Claim.Relative
		c.Why = "the claim allows that much"
	}
	return c
}

func (q ClaimQuestion) model() *model {
	return modelOf(q.Before, q.After, q.criterion(), q.Options)
}

func (v *ClaimVerdict) say(s string) { v.Reasons = append(v.Reasons, s) }

// wrong says what is the matter with a claim, or nothing.
func (c Claim) wrong() string {
	switch {
	case c.Direction != Smaller && c.Direction != Larger && c.Direction != Unchanged:
		return fmt.Sprintf("The claim has direction %q: expected smaller, larger or unchanged.", string(c.Direction))
	case c.Amount < 0 || !finite(c.Amount):
		return "The claim's amount is not a positive number."
	case c.Relative && c.Direction == Smaller && c.Amount > 1:
		return "The claim promises a fall by more than the whole."
	}
	return ""
}

// promise returns the promised change as a contrast, positive in the promised
// direction.
func (c Claim) promise(m *model) contrast {
	if !c.Relative {
		return contrast{shift: c.Amount}
	}
	if mean(m.places()[0]) < 0 {
		return contrast{kA: -c.Amount}
	}
	return contrast{kA: c.Amount}
}

// testStatements fills in the p values of the statements a claim rests on.
func (v *ClaimVerdict) testStatements(q ClaimQuestion) {
	m := q.model()
	if m == nil {
		return
	}
	sgn := q.Claim.Direction.sign()
	promise := q.Claim.promise(m)
	x := m.places()
	v.Promised = sgn * (promise.kA*mean(x[0]) + promise.shift)
	if !v.Change.Tested {
		return
	}
	v.Ratio = m.ratio()
	v.statements.small, v.statements.large = v.Change.statements.small(), v.Change.statements.large
	if q.Claim.Direction == Unchanged {
		return
	}
	margin, _, ok := m.margin(q.criterion())
	if !ok {
		margin = contrast{}
	}
	gain := contrast{kA: -sgn, kB: sgn}
	short := gain.add(-1, promise) // change less what was promised
	v.statements.kept = m.worst(short.add(1, margin))
	v.statements.short = twice(m.worst(short.neg()))
	v.statements.way, v.statements.other = twice(m.worst(gain)), twice(m.worst(gain.neg()))
}

func (v *ClaimVerdict) explain() {
	if v.Claim.Direction == Unchanged {
		v.explainUnchanged()
		return
	}
	promised := amount(math.Abs(v.Promised), v.Change.Unit)
	if v.Claim.Relative {
		promised = fmt.Sprintf("%s (%s)", quantity.Printer{}.Fraction(v.Claim.Amount), promised)
	}
	text := fmt.Sprintf("Promised: %s by %s.", v.Claim.Direction.Said(v.Change.Unit), promised)
	switch {
	case v.Word == Kept:
		text += " That much is certain, or what is missing is too little to matter."
	case v.Word == NotKept && v.statements.small < alpha:
		text += " There is certainly no change that matters."
	case v.Word == NotKept:
		text += " It certainly moved the other way."
	case v.Word == KeptInPart:
		text += " It moved that way, but certainly by less."
	case v.LessThanPromised:
		text += " It is certainly less than promised; whether there is any change is not shown yet."
	}
	v.say(text)
	if v.Change.Matters > 0 && math.Abs(v.Promised) <= v.Change.Matters {
		v.say("The promise itself is no more than what matters.")
	}
}

func (v *ClaimVerdict) explainUnchanged() {
	switch v.Word {
	case Kept:
		v.say("The claim was no change, and none that matters is certain.")
	case NotKept:
		v.say("The claim was no change, and a change that matters is certain.")
	}
}

// conclude finds the word from the statements, says why, and how many more runs
// would decide; level is that of the needed ones.
func (v *ClaimVerdict) conclude(q ClaimQuestion, level float64) {
	if v.wrong != "" {
		v.say(v.wrong)
		return
	}
	s := v.statements
	v.PKept, v.PShort, v.LessThanPromised = s.kept, s.short, s.short < alpha
	v.Word = s.word(q.Claim.Direction)
	if v.Change.Tested {
		v.explain()
	}
	v.Needed = Needed{Decided: v.Word != CannotTellIf}
	if m := q.model(); m != nil && !v.Needed.Decided && !q.Options.NoNeeded {
		v.Needed = m.neededFor(v.Change, q.Options, level, v.chance())
		v.say(v.Needed.Sentence)
	}
}

// chance is the chance of a word on the claim for what further runs will meet.
func (v *ClaimVerdict) chance() func(outlook) float64 {
	if v.Claim.Direction == Unchanged {
		return outlook.firmWord
	}
	promised, widening := math.Abs(v.Promised), v.Claim.widening()
	truth := v.Claim.Direction.sign() * v.Change.Difference.Estimate()
	return func(o outlook) float64 {
		o.truth = truth
		return o.decidesClaim(promised, widening)
	}
}

// ratio is the 95 % interval of after/before at the places, nil where it is
// open or where bounds and intervals are among the runs.
func (m *model) ratio() *[2]float64 {
	if !m.allExact() {
		return nil
	}
	x := m.places()
	a, b := m.at(contrast{kA: 1}, x), m.at(contrast{kB: 1}, x)
	dof := m.at(contrast{kA: -mean(x[1]) / mean(x[0]), kB: 1}, x).DoF()
	if lo, hi, ok := RatioInterval(a, b, 0.95, dof); ok {
		return &[2]float64{lo, hi}
	}
	return nil
}
