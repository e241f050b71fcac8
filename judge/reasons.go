package judge

import (
	"fmt"
	"math"
	"strings"

	"setwright/quantity"
)

// explain adds the sentences that say why the word is what it is.
func (v *Verdict) explain(m *model, c Criterion) {
	if !v.Tested {
		v.explainUntested(m)
		return
	}
	v.say(v.headline())
	v.say(m.scatterSentence(v))
	if whose := v.raised(); whose != "" {
		v.say("The runs of " + whose + " agree better than their own noise allows; the scatter was raised to what that noise predicts.")
	}
	if gone := v.Cancelled(); len(gone) > 0 {
		v.say("Common to both sides, and gone from the difference: " + names(gone) + ".")
	}
	if v.Matters == 0 {
		v.say("No amount that matters is stated, so nothing can be called too small to matter.")
	} else if c.Why != "" {
		v.say(fmt.Sprintf("What matters is %s: %s.", amount(v.Matters, v.Unit), strings.TrimSuffix(c.Why, ".")))
	}
}

// raised names the sides whose scatter was raised, "" for neither.
func (v *Verdict) raised() string {
	var out []string
	if v.ScatterA.Raised {
		out = append(out, v.NameA)
	}
	if v.ScatterB.Raised {
		out = append(out, v.NameB)
	}
	return strings.Join(out, " and of ")
}

func names(effects []quantity.Effect) string {
	var out []string
	for _, e := range effects {
		out = append(out, e.Name)
	}
	return strings.Join(out, ", ")
}

// headline is the difference with its interval and what the word rests on.
func (v *Verdict) headline() string {
	s := v.statements
	if !v.oneWay() {
		return fmt.Sprintf("%s lies %s; bounds leave the other end open.", v.who(), v.howFar())
	}
	text := fmt.Sprintf("%s is %s", v.who(), v.howFar())
	switch {
	case v.TOST.Holds:
		return text + fmt.Sprintf(": certainly within ±%s, too little to matter.", amount(v.Matters, v.Unit))
	case s.large < alpha:
		return text + fmt.Sprintf(": certainly by more than %s.", amount(v.Matters, v.Unit))
	case s.real < alpha:
		return text + fmt.Sprintf(": real, but perhaps by less than the %s that matter.", amount(v.Matters, v.Unit))
	}
	if v.DifferenceForm.Kind == quantity.KindBound {
		return text + ", as it looks: the runs scatter too much to be sure of any difference."
	}
	return text + ": neither a difference nor its absence is shown."
}

func (v *Verdict) oneWay() bool { return v.DifferenceForm.Kind != "" }

func (v *Verdict) who() string { return v.NameB }

// howFar says the difference in the form in which it is known.
func (v *Verdict) howFar() string {
	d := v.DifferenceForm
	switch d.Kind {
	case quantity.KindBound:
		x := d.Value.Estimate()
		if d.Bound == quantity.MoreThan {
			return boundWords(x, v.Unit, x >= 0, Larger, Smaller)
		}
		return boundWords(-x, v.Unit, x <= 0, Smaller, Larger)
	case quantity.KindInterval:
		t := amounts(v.Unit, d.Hi-d.Lo, d.Lo, d.Hi)
		return fmt.Sprintf("between %s and %s away from %s", t[0], t[1], v.NameA) + v.ciWords()
	case "":
		return "somewhere"
	}
	return v.changeWords()
}

func boundWords(x float64, unit string, sure bool, way, other Direction) string {
	if sure {
		return "at least " + amount(x, unit) + " " + way.Said(unit)
	}
	return "at most " + amount(-x, unit) + " " + other.Said(unit)
}

// changeWords says how much larger or smaller b is, with the interval.
func (v *Verdict) changeWords() string {
	d := v.Difference.Estimate()
	size, ci := amount(math.Abs(d), v.Unit), ""
	if c := v.CI95; c != nil {
		t := amounts(v.Unit, (c[1]-c[0])/2, math.Abs(d), c[0], c[1])
		size, ci = t[0], fmt.Sprintf(" (95 %%: %s to %s)", t[1], t[2])
	}
	switch {
	case d > 0:
		return size + " " + Larger.Said(v.Unit) + " than " + v.NameA + ci
	case d < 0:
		return size + " " + Smaller.Said(v.Unit) + " than " + v.NameA + ci
	}
	return "equal to " + v.NameA + ci
}

func (v *Verdict) ciWords() string {
	if v.CI95 == nil {
		return ""
	}
	t := amounts(v.Unit, (v.CI95[1]-v.CI95[0])/2, v.CI95[0], v.CI95[1])
	return fmt.Sprintf(" (95 %%: %s to %s)", t[0], t[1])
}

// explainUntested says what is missing.
func (v *Verdict) explainUntested(m *model) {
	p := m.scatter(m.places())
	for i, s := range p {
		if !m.paired && !s.known() {
			v.say(fmt.Sprintf("%s has a single run, and the scatter from run to run is not known from other repeats: what one run is worth can't be told from within it.", m.names[i]))
		}
	}
	if v.Difference.Defined() && v.oneWay() {
		v.say(fmt.Sprintf("As it stands, %s is %s.", v.who(), v.howFar()))
	}
}

// scatterSentence says where the run-to-run scatter was taken from.
func (m *model) scatterSentence(v *Verdict) string {
	if m.paired {
		return "Run-to-run scatter is that of the pairs' differences."
	}
	p := m.scatter(m.places())
	if p[0].From == p[1].From && p[0].From == FromTheseRuns {
		t := amounts(v.Unit, math.Max(p[0].SD, p[1].SD)/10, p[0].SD, p[1].SD)
		return fmt.Sprintf("Run-to-run scatter, from these runs: %s (%s) and %s (%s).", t[0], m.names[0], t[1], m.names[1])
	}
	var parts []string
	for i, s := range p {
		text := fmt.Sprintf("%s for %s, from %s", amount(s.SD, v.Unit), m.names[i], s.From)
		if k := m.known[i]; k.usable() && k.Of != "" && (s.From == FromBook || s.From == FromBoth) {
			text += " (" + k.Of + ")"
		}
		parts = append(parts, text)
	}
	return "Run-to-run scatter: " + strings.Join(parts, "; ") + "."
}
