package judge

import (
	"fmt"
	"sort"
	"strings"
)

// Question is one figure to be judged in a family.
type Question struct {
	A, B      Side
	Criterion Criterion
	Options   Options
}

// Adjusted holds the p values of the three statements after Holm's step-down,
// and how many figures stood in the family.
type Adjusted struct {
	P      float64 `json:"p"`
	PLarge float64 `json:"p_large"`
	PSmall float64 `json:"p_small"`
	Of     int     `json:"of"`
}

// CompareAll judges several figures together. Each kind of statement is a family
// of its own, stepped down by Holm: the chance that any difference is wrongly
// called real stays below 5 %, so does the chance that any is wrongly called
// more than what matters, and the chance that any is wrongly called too small to
// matter, however the figures depend on each other. The families are kept apart
// because one step-down through all would promise less than it says: a figure
// once passed for being real may still be wrongly called small. Verdicts without
// a test (single runs, choices) are not counted in. Intervals stay those of each
// figure alone.
func CompareAll(qs []Question) []Verdict {
	vs := make([]Verdict, len(qs))
	var tested []int
	for i, q := range qs {
		vs[i] = Compare(q.A, q.B, q.Criterion, q.Options)
		if vs[i].Tested {
			tested = append(tested, i)
		}
	}
	if len(tested) < 2 {
		return vs
	}
	pick := func(f func(statements) float64) []float64 {
		p := make([]float64, len(tested))
		for j, i := range tested {
			p[j] = f(vs[i].statements)
		}
		return Holm(p)
	}
	real := pick(func(s statements) float64 { return s.real })
	large := pick(func(s statements) float64 { return s.large })
	small := pick(statements.small)
	for j, i := range tested {
		vs[i].adjust(Adjusted{P: real[j], PLarge: large[j], PSmall: small[j], Of: len(tested)}, qs[i])
	}
	return vs
}

// adjust makes the word rest on the adjusted p values.
func (v *Verdict) adjust(a Adjusted, q Question) {
	v.Adjusted = &a
	alone, headline, need := v.Word, v.headline(), v.Needed.Sentence
	v.statements = statements{way: v.statements.way, real: a.P, large: a.PLarge, tost: TOST{Lower: a.PSmall, Upper: a.PSmall, Holds: a.PSmall < alpha}}
	v.Word = v.statements.word(v.better)
	v.TOST.Holds = v.statements.tost.Holds
	if v.Word == alone {
		return
	}
	v.needTogether(q)
	v.reword(headline, strings.Replace(v.headline(), "(95 %:", "(95 %, taken alone:", 1))
	v.reword(need, v.Needed.Sentence)
	v.say(fmt.Sprintf("Judged together with %s: alone it would be %q.", number(a.Of-1, "other figure", "other figures"), string(alone)))
}

// reword puts a sentence in the place of one that no longer holds.
func (v *Verdict) reword(old, now string) {
	for i, r := range v.Reasons {
		if old != "" && r == old {
			v.Reasons[i] = now
		}
	}
}

// needTogether works out anew how many more runs are needed, at the strictest of
// Holm's levels.
func (v *Verdict) needTogether(q Question) {
	level := alpha / float64(v.Adjusted.Of)
	w := start(q.A, q.B, q.Criterion)
	as, bs := w.take(q.A, w.NameA), w.take(q.B, w.NameB)
	switch {
	case q.Options.NoNeeded:
		return
	case counts(q.A, q.B) && !w.crowded(as, bs, q.Options):
		v.Needed = neededCounts(*v, as, bs, q.Options, level)
	default:
		v.Needed = modelOf(q.A, q.B, q.Criterion, q.Options).needed(*v, q.Options, level)
	}
}

// Holm returns the p values adjusted by Holm's step-down (Holm 1979): sorted
// upwards, p(i)·(m − i + 1), made monotone, at most 1. A statement whose adjusted
// p is below α may be made with the family's error held at α. The order of the
// input is kept.
func Holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return p[order[i]] < p[order[j]] })
	out, least := make([]float64, len(p)), 0.0
	for rank, i := range order {
		least = max(least, min(1, p[i]*float64(len(p)-rank)))
		out[i] = least
	}
	return out
}
