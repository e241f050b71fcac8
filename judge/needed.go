package judge

import (
	"fmt"
	"math"
)

// Needed says how many more runs a side would decide, with a chance of 80 %, if
// the true difference and the scatter are what they look like so far.
type Needed struct {
	MoreA    int     `json:"more_a"`
	MoreB    int     `json:"more_b"`
	Decided  bool    `json:"decided"`            // nothing more is needed
	AtLeast  bool    `json:"at_least,omitempty"` // the numbers are the least; after them it can be told
	Never    bool    `json:"never,omitempty"`    // no number of runs worth making will decide
	Chance   float64 `json:"chance,omitempty"`   // of deciding with these
	Basis    string  `json:"basis,omitempty"`
	Sentence string  `json:"sentence,omitempty"`
}

const basisFormula = "t distribution, true difference and scatter taken as found so far, 80 % chance"

// needed works out what would turn "cannot tell yet" into any other word, or a
// "perhaps" into a firm one.
func (m *model) needed(v Verdict, opt Options, level float64) Needed {
	if v.Word.Firm() {
		return Needed{Decided: true, Sentence: "No more runs are needed."}
	}
	return m.neededByPower(v, opt, level)
}

// hasOpenEnds reports whether bounds forbid what the word lacks.
func (v Verdict) hasOpenEnds(m *model) bool {
	if !m.bounded() {
		return false
	}
	perhaps := !v.Word.Firm() && v.Word != CannotTell
	return v.P >= 1 || perhaps && math.Abs(v.Difference.Estimate()) <= v.Matters
}

func (m *model) bounded() bool {
	return hasBounds(m.sides[0].entries) || hasBounds(m.sides[1].entries)
}

func openEnds() Needed {
	return Needed{Never: true, Basis: "bounds", Sentence: "More runs alone will not decide: a bound leaves it open. Longer or wider records are needed."}
}

func (m *model) neededForScatter() Needed {
	need := needForScatter(m.sides[0].n(), m.sides[1].n(), m.names)
	if need.MoreA == 0 && need.MoreB == 0 { // readings coarser than their scatter
		return Needed{Never: true, Basis: "resolution", Sentence: "More runs alone will not decide: state the resolution, or read finer."}
	}
	return need
}

// needForScatter is what sides of na and nb runs need for their scatter to show.
func needForScatter(na, nb int, names [2]string) Needed {
	const least = 2
	need := Needed{AtLeast: true, Basis: "scatter not known", MoreA: max(0, least-na), MoreB: max(0, least-nb)}
	need.Sentence = "Needed before anything can be said: at least " + need.words(names) + "; three runs on each side are a fair start."
	return need
}

// words writes the runs needed.
func (n Needed) words(names [2]string) string {
	switch {
	case n.MoreA == n.MoreB:
		return number(n.MoreA, "more run", "more runs") + " on each side"
	case n.MoreA == 0:
		return number(n.MoreB, "more run", "more runs") + " of " + names[1]
	case n.MoreB == 0:
		return number(n.MoreA, "more run", "more runs") + " of " + names[0]
	}
	return fmt.Sprintf("%s of %s and %d of %s", number(n.MoreA, "more run", "more runs"), names[0], n.MoreB, names[1])
}

// neededByPower looks for the smallest number of runs a side that decides.
func (m *model) neededByPower(v Verdict, opt Options, level float64) Needed {
	if v.Word != CannotTell {
		return m.neededFor(v, opt, level, outlook.firmWord)
	}
	return m.neededFor(v, opt, level, outlook.anyWord)
}

// neededFor looks for the smallest number of runs a side with which the chance
// of what is wanted reaches 80 %.
func (m *model) neededFor(v Verdict, opt Options, level float64, chance func(outlook) float64) Needed {
	switch {
	case v.DifferenceForm.Kind == "":
		return openEnds()
	case !v.Tested:
		return m.neededForScatter()
	case v.hasOpenEnds(m):
		return openEnds()
	}
	most := opt.maxMore()
	na, nb := m.sides[0].n(), m.sides[1].n()
	for n := min(na, nb) + 1; n <= max(na, nb)+most; n++ {
		ma, mb := max(n, na), max(n, nb)
		if m.paired {
			ma, mb = n, n
		}
		if ma-na > most || mb-nb > most {
			break
		}
		if p := chance(m.outlook(v, ma, mb, level)); p >= powerAim {
			need := Needed{MoreA: ma - na, MoreB: mb - nb, Chance: p, Basis: basisFormula}
			need.Sentence = need.sentence(m)
			return need
		}
	}
	need := Needed{MoreA: most, MoreB: most, Never: true, Basis: basisFormula}
	need.Sentence = fmt.Sprintf("More than %d further runs a side would be needed: this bench will not decide it.", most)
	if bench := m.benchAlone(v, level); chance(bench) < powerAim {
		need.Sentence = fmt.Sprintf("No number of runs will decide it: %s of error that the two sides do not share is left however many are made.", amount(bench.u, v.Unit))
	}
	return need
}

func (n Needed) sentence(m *model) string {
	what := n.words(m.names)
	if m.paired {
		what = number(n.MoreA, "more pair", "more pairs")
	}
	return "If things are as they look so far, " + what + " would decide it."
}

// outlook returns what is to be expected with na and nb runs.
func (m *model) outlook(v Verdict, na, nb int, level float64) outlook {
	bench := m.benchAlone(v, level)
	x := m.places()
	if m.paired {
		s2 := m.pairScatter2(x)
		return bench.with(s2/float64(na), float64(na-1), 0, 1)
	}
	p := m.scatter(x)
	va, vb := p[0].SD*p[0].SD/float64(na), p[1].SD*p[1].SD/float64(nb)
	if k := m.known[0]; k == m.known[1] && k.usable() && k.Apart && k.DoF > 0 {
		return bench.with(va+vb, k.DoF+float64(na+nb-2), 0, 1)
	}
	return bench.with(va, m.dofOf(0, na), vb, m.dofOf(1, nb))
}

// dofOf is the degrees of freedom that n runs give the scatter of side i.
func (m *model) dofOf(i, n int) float64 {
	if k := m.known[i]; n < 2 && k.usable() {
		return infiniteIfZero(k.DoF)
	}
	return math.Max(1, float64(n-1))
}

// with adds two variances of scatter to the bench's own (Welch-Satterthwaite).
func (o outlook) with(va, da, vb, db float64) outlook {
	if va > 0 && vb > 0 {
		da, db = fewRunsDoF(math.Sqrt(va), da, math.Sqrt(vb), db)
	}
	bench := o.u * o.u
	total := va + vb + bench
	o.dof = math.Inf(1)
	if err := va*va/da + vb*vb/db + bench*bench/o.dof; err > 0 {
		o.dof = total * total / err
	}
	o.u = math.Sqrt(total)
	return o
}

// pairScatter2 is the variance of the pairs' differences.
func (m *model) pairScatter2(x [2][]float64) float64 {
	for _, p := range m.pairedAt(difference, x).Contributions() {
		if p.ID == m.scatterOf[ofPairs].ID {
			return p.C * p.C * float64(len(x[0]))
		}
	}
	return 0
}

// benchAlone is the outlook with endless runs: only named sources are left.
func (m *model) benchAlone(v Verdict, level float64) outlook {
	u2 := 0.0
	for _, p := range v.Difference.Contributions() {
		if !m.isScatter(p.ID) {
			u2 += p.C * p.C
		}
	}
	return outlook{truth: math.Abs(v.Difference.Estimate()), margin: v.Matters, u: math.Sqrt(u2), dof: math.Inf(1), level: level, open: m.bounded()}
}

func (m *model) isScatter(id string) bool {
	for _, s := range m.scatterOf {
		if id == s.ID {
			return true
		}
	}
	return false
}
