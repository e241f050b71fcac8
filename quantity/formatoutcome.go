package quantity

import (
	"fmt"
	"math"
)

// FormatOutcome prints an outcome in the given unit: "19.3 ± 1.2 min",
// "between 20 and 40 min", "more than 38 min", "3", "high side". A value with
// an uneven confidence interval shows it: "1.2 (95 %: 0.9 to 2.1)".
func FormatOutcome(o Outcome, unit string) string { return Printer{}.Outcome(o, unit) }

// unknown is printed for an outcome of no kind: nothing is known of it, as of the
// difference of two that are both more than something.
const unknown = "not known"

// Outcome is [FormatOutcome] in the printer's style.
func (p Printer) Outcome(o Outcome, unit string) string {
	switch o.Kind {
	case KindValue:
		if o.CI != nil && finite(o.Value.estimate) {
			return p.uneven(o, unit)
		}
		return p.Format(o.Value, unit)
	case KindInterval:
		return p.interval(o.Lo, o.Hi, unit)
	case KindBound:
		return p.bound(o, unit)
	case KindCount:
		return p.Format(o.Value, unit)
	case KindChoice:
		return o.Choice
	}
	return unknown
}

func (p Printer) interval(lo, hi float64, unit string) string {
	if !finite(lo) || !finite(hi) {
		return undefined
	}
	if lo == hi {
		return p.Format(Exact(lo), unit)
	}
	s := intervalScale(lo, hi, unit)
	return p.labelled("between "+p.ends(lo, hi, " and ", s), s)
}

// intervalScale is the largest scale in which the interval is wide enough for
// four decimals.
func intervalScale(lo, hi float64, unit string) Scale {
	middle := Value{estimate: math.Max(math.Abs(lo), math.Abs(hi))}
	return Printer{}.scaleOf(middle.With(Contribution{Source{}, math.Abs(hi - lo)}), unit)
}

// ends prints both ends, each with the digits it needs of those that matter: two
// significant digits of the width, up to two more for an end much smaller than
// it (between 0.5 and 40 min).
func (p Printer) ends(lo, hi float64, between string, s Scale) string {
	_, place := s.decimal(hi-lo).significant(2, toNearest)
	end := func(x float64) string {
		d := s.decimal(x)
		d = d.round(max(min(place, d.exp-2), place-2), toNearest)
		return p.digits(d, min(0, d.last()))
	}
	return end(lo) + between + end(hi)
}

// uneven prints a value with its confidence interval instead of u.
func (p Printer) uneven(o Outcome, unit string) string {
	lo, hi := o.CI[0], o.CI[1]
	if !finite(lo) || !finite(hi) || lo == hi {
		return p.Format(o.Value, unit)
	}
	s := intervalScale(math.Min(lo, o.Value.estimate), math.Max(hi, o.Value.estimate), unit)
	_, place := s.decimal(hi-lo).significant(2, toNearest)
	x := s.decimal(o.Value.estimate).round(place, toNearest)
	text := p.labelled(p.digits(x, place), s)
	return fmt.Sprintf("%s (%s %%: %s)", text, newDecimal(100*o.Level).round(-1, toNearest).trim(), p.labelled(p.ends(lo, hi, " to ", s), s))
}

// trim prints a decimal with the digits it has.
func (d decimal) trim() string { return d.text(min(0, d.last()), "-", "") }

// boundTold is the uncertainty, as a fraction of a limit, below which it is left
// out in words: nobody plans by the two seconds of "more than 90 min".
const boundTold = 0.01

// bound prints a limit. An exact one, or one known to a hundredth, is cut to four
// significant digits, away from what it promises: more than 38.055 is also more
// than 38.05.
func (p Printer) bound(o Outcome, unit string) string {
	words, how := "more than ", downward
	if o.Bound == LessThan {
		words, how = "less than ", upward
	}
	v := o.Value
	if !finite(v.estimate) {
		return undefined
	}
	if v.U() > boundTold*math.Abs(v.estimate) {
		return words + p.Format(v, unit)
	}
	s := ScaleFor([]float64{v.estimate}, unit)
	x, _ := needed(s.decimal(v.estimate)).significant(4, how)
	return words + p.labelled(p.digits(x, min(0, x.last())), s)
}
