package judge

import (
	"fmt"
	"math"
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
}

// JudgeClaim judges a claim on the runs before and after. It never fails; what
// can't be judged gives "cannot tell yet" with the reason.
func JudgeClaim(before, after Side, claim Claim, c Criterion, opt Options) ClaimVerdict {
	quiet := opt
	quiet.NoNeeded = true
	if claim.Direction == Unchanged && claim.Amount > 0 {
		c.Matters, c.Relative = claim.Amount, claim.Relative
		c.Why = "the claim allows that much"
	}
	v := ClaimVerdict{Word: CannotTellIf, Claim: claim, PKept: 1, PShort: 1}
	v.Change = Compare(before, after, c, quiet)
	v.Reasons = append(v.Reasons, v.Change.Reasons...)
	if why := claim.wrong(); why != "" {
		v.say(why)
		return v
	}
	if claim.Direction == Unchanged {
		return v.judgeUnchanged(before, after, c, opt)
	}
	return v.judgeMoved(before, after, c, opt)
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

func (v ClaimVerdict) judgeUnchanged(before, after Side, c Criterion, opt Options) ClaimVerdict {
	switch v.Change.Word {
	case NoDifference:
		v.Word = Kept
		v.say("The claim was no change, and none that matters is certain.")
	case Better, Worse, Different:
		v.Word = NotKept
		v.say("The claim was no change, and a change that matters is certain.")
	}
	if v.Word == CannotTellIf && !opt.NoNeeded {
		if m := modelOf(before, after, c, opt); m != nil {
			v.Needed = m.neededFor(v.Change, opt, alpha, outlook.firmWord)
			v.say(v.Needed.Sentence)
		}
	} else {
		v.Needed.Decided = true
	}
	return v
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

func (v ClaimVerdict) judgeMoved(before, after Side, c Criterion, opt Options) ClaimVerdict {
	m := modelOf(before, after, c, opt)
	if m == nil {
		return v
	}
	sgn := v.Claim.Direction.sign()
	gain := contrast{kA: -sgn, kB: sgn}
	promise := v.Claim.promise(m)
	x := m.places()
	v.Promised = sgn * (promise.kA*mean(x[0]) + promise.shift)
	if !v.Change.Tested {
		if !opt.NoNeeded {
			v.Needed = m.neededForScatter()
			v.say(v.Needed.Sentence)
		}
		return v
	}
	v.Ratio = m.ratio()
	margin, _, _ := m.margin(c)
	short := gain.add(-1, promise)          // change less what was promised
	v.PKept = m.worst(short.add(1, margin)) // against "short by what matters or more"
	v.PShort = twice(m.worst(short.neg()))  // against "as promised or more"
	v.LessThanPromised = v.PShort < alpha   // certainly less
	v.Word = v.word(twice(m.worst(gain)) < alpha, twice(m.worst(gain.neg())) < alpha)
	v.explain()
	v.finish(m, opt)
	return v
}

// word applies the definition of [ClaimVerdict].
func (v *ClaimVerdict) word(promisedWay, otherWay bool) ClaimWord {
	switch {
	case v.PKept < alpha && promisedWay:
		return Kept
	case v.Change.TOST.Holds || otherWay:
		return NotKept
	case v.LessThanPromised && promisedWay:
		return KeptInPart
	}
	return CannotTellIf
}

func (v *ClaimVerdict) explain() {
	promised := amount(math.Abs(v.Promised), v.Change.Unit)
	if v.Claim.Relative {
		promised = fmt.Sprintf("%s %% (%s)", amount(100*v.Claim.Amount, ""), promised)
	}
	text := fmt.Sprintf("Promised: %s by %s.", v.Claim.Direction, promised)
	switch {
	case v.Word == Kept:
		text += " That much is certain, or what is missing is too little to matter."
	case v.Word == NotKept && v.Change.TOST.Holds:
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

// finish adds how many more runs would decide the claim.
func (v *ClaimVerdict) finish(m *model, opt Options) {
	if v.Word != CannotTellIf {
		v.Needed.Decided = true
		return
	}
	if opt.NoNeeded {
		return
	}
	sgn := v.Claim.Direction.sign()
	promised := math.Abs(v.Promised)
	truth := sgn * v.Change.Difference.Estimate()
	v.Needed = m.neededFor(v.Change, opt, alpha, func(o outlook) float64 {
		o.truth = truth
		return o.decidesClaim(promised, v.Claim.widening())
	})
	v.say(v.Needed.Sentence)
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
