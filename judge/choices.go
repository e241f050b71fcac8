package judge

import (
	"fmt"
	"sort"
	"strings"

	"setwright/quantity"
)

// choices reports whether the figure is a choice on either side.
func choices(a, b Side) bool { return all(a, quantity.KindChoice) && all(b, quantity.KindChoice) }

func counts(a, b Side) bool { return all(a, quantity.KindCount) && all(b, quantity.KindCount) }

func all(s Side, k quantity.Kind) bool {
	for _, o := range s.Observations {
		if o.Outcome.Kind != k {
			return false
		}
	}
	return len(s.Observations) > 0
}

// compareChoices says same or different in words; a choice is not better or
// worse than another.
func (v Verdict) compareChoices(a, b Side) Verdict {
	ca, cb := tally(a), tally(b)
	v.NA, v.NB = len(a.Observations), len(b.Observations)
	v.AForm, v.BForm = quantity.Chosen(ca.words()), quantity.Chosen(cb.words())
	switch {
	case len(ca) > 1 || len(cb) > 1:
		v.say(fmt.Sprintf("The runs of a side do not agree: %s: %s; %s: %s.", v.NameA, ca.words(), v.NameB, cb.words()))
	case ca.words() == cb.words():
		v.Word = NoDifference
		v.Needed.Decided = true
		v.say(fmt.Sprintf("The same on both sides: %s.", ca.words()))
	default:
		v.Word = Different
		v.Needed.Decided = true
		v.say(fmt.Sprintf("Different: %s on %s, %s on %s.", ca.words(), v.NameA, cb.words(), v.NameB))
	}
	return v
}

// ballot is how often each choice was found.
type ballot map[string]int

func tally(s Side) ballot {
	t := ballot{}
	for _, o := range s.Observations {
		t[o.Outcome.Choice]++
	}
	return t
}

func (t ballot) words() string {
	var keys, out []string
	for k := range t {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	if len(keys) == 1 {
		return keys[0]
	}
	for _, k := range keys {
		out = append(out, fmt.Sprintf("%s (%s)", k, number(t[k], "run", "runs")))
	}
	return strings.Join(out, ", ")
}

// noRuns says which side has nothing.
func noRuns(v Verdict, na, nb int) string {
	switch {
	case na == 0 && nb == 0:
		return "neither side has a usable run"
	case na == 0:
		return v.NameA + " has no usable run"
	}
	return v.NameB + " has no usable run"
}
