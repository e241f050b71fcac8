package workshop

import "setwright/judge"

// Advice says what to do about a modification, in words: what the verdicts on
// its claims come to together.
func (r ClaimReport) Advice() string {
	n := map[judge.ClaimWord]int{}
	for _, c := range r.Claims {
		if c.Verdict == nil {
			n[judge.CannotTellIf]++
			continue
		}
		n[c.Verdict.Word]++
	}
	total := len(r.Claims)
	switch {
	case total == 0:
		return "Nothing is claimed for it yet. Note what it is said to do; then it can be judged."
	case n[judge.CannotTellIf] == total:
		return "Leave it as it is for now, in or out, and make the runs that would decide."
	case n[judge.CannotTellIf] > 0:
		return "Part of it can be told. Before it is taken out, or copied into another set, make the runs that would decide the rest."
	case n[judge.Kept] == total:
		return "It does what it is said to do. Whether that is worth keeping in an old set is for its owner to say."
	case n[judge.NotKept] == total:
		return "It does none of what it is said to do. Nothing measured here speaks for keeping it."
	}
	return "It does part of what it is said to do; what it does and what it does not is said claim by claim."
}
