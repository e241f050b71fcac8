package judge

import (
	"fmt"
	"math"

	"setwright/quantity"
)

// Compare judges side b against side a on one figure. It never fails: what can't
// be judged gives "cannot tell yet" with the reason. Observations without a
// usable outcome are left out and named in the reasons. Counts are compared as
// counts, choices as choices; see [Verdict] and the package comment.
func Compare(a, b Side, c Criterion, opt Options) Verdict {
	v := start(a, b, c)
	if choices(a, b) {
		return v.compareChoices(a, b)
	}
	as, bs := v.take(a, v.NameA), v.take(b, v.NameB)
	v.NA, v.NB = len(as), len(bs)
	switch {
	case len(as) == 0 || len(bs) == 0:
		v.say("There is nothing to compare: " + noRuns(v, len(as), len(bs)) + ".")
		return v
	case counts(a, b) && !v.crowded(as, bs, opt):
		return v.compareCounts(as, bs, c, opt)
	}
	return v.compareNumbers(as, bs, c, opt)
}

// start returns a verdict that nothing has been found out for yet.
func start(a, b Side, c Criterion) Verdict {
	na, nb := sideNames(a, b)
	return Verdict{
		Word: CannotTell, Figure: c.Figure, Unit: c.Unit, NameA: na, NameB: nb, better: c.Better,
		P: 1, PLarge: 1, TOST: TOST{Lower: 1, Upper: 1}, statements: untested(),
	}
}

func untested() statements {
	return statements{real: 1, large: 1, tost: TOST{Lower: 1, Upper: 1}}
}

// sideNames returns two different names that are not empty.
func sideNames(a, b Side) (string, string) {
	na, nb := a.Name, b.Name
	if na == "" {
		na = "a"
	}
	if nb == "" {
		nb = "b"
	}
	if na == nb {
		return na + " (a)", nb + " (b)"
	}
	return na, nb
}

// take returns the usable observations of a side and names the others. A run
// without an id gets one from its place, so that its own noise stays its own.
func (v *Verdict) take(s Side, name string) []entry {
	var out []entry
	for i, o := range s.Observations {
		if o.Run == "" {
			o.Run = fmt.Sprintf("%d of %s", i+1, name)
		}
		if e, ok := allowed(o); ok {
			out = append(out, e)
		} else {
			v.say("Left out, because it holds no usable number: " + o.title() + ".")
		}
	}
	return out
}

func (o Observation) title() string {
	if o.Label != "" {
		return o.Label
	}
	if o.Run != "" {
		return "run " + o.Run
	}
	return "a run without a name"
}

// compareNumbers judges values, intervals and bounds.
func (v Verdict) compareNumbers(as, bs []entry, c Criterion, opt Options) Verdict {
	pa, pb, paired := v.pairUp(as, bs, opt)
	m := newModel(c, [2]string{v.NameA, v.NameB}, pa, pb, opt, paired)
	v.NA, v.NB, v.Paired = len(pa), len(pb), paired
	if paired {
		v.Pairs = len(pa)
	}
	v.describe(m)
	margin, amount, ok := m.margin(c)
	v.Matters = amount
	if v.Tested = m.hasScatter() && v.Difference.Defined(); v.Tested {
		v.statements = m.judgeDifference(margin)
	}
	if !finite(c.Matters) {
		v.say("The amount that matters is not a number; none is used.")
	}
	if v.Tested && !ok {
		v.statements.tost = TOST{Lower: 1, Upper: 1}
		v.statements.large = 1
		v.say("The amount that matters is a fraction of a mean that may be zero, or twice that mean or more: too small and large can't be told.")
	}
	if v.coarse(m) {
		v.Tested, v.statements = false, untested()
	}
	v.settle()
	v.explain(m, c)
	v.standApart(m, c, opt)
	v.rankCheck(m)
	if !opt.NoNeeded {
		v.Needed = m.needed(v, opt, alpha)
		v.say(v.Needed.Sentence)
	}
	return v
}

// settle puts p values and word in place from the statements.
func (v *Verdict) settle() {
	s := v.statements
	v.P, v.PLarge, v.TOST = s.real, s.large, s.tost
	v.Word = s.word(v.better)
}

// coarse reports whether nothing at all is uncertain because every run of
// either side reads the same: the readings are then coarser than the scatter.
func (v *Verdict) coarse(m *model) bool {
	if !v.Tested || v.Difference.U() > 0 {
		return false
	}
	v.say("The runs of a side agree to the last digit and no uncertainty is stated: the readings are coarser than their scatter. State their resolution.")
	return true
}

// describe fills in means, difference, interval, scatter, budget.
func (v *Verdict) describe(m *model) {
	x := m.places()
	v.A, v.B = m.at(contrast{kA: 1}, x), m.at(contrast{kB: 1}, x)
	if m.paired {
		p := m.unpairedCopy()
		v.A, v.B = p.at(contrast{kA: 1}, x), p.at(contrast{kB: 1}, x)
	}
	v.Difference = m.at(difference, x)
	v.AForm, v.BForm, v.DifferenceForm = m.form(contrast{kA: 1}, v.A), m.form(contrast{kB: 1}, v.B), m.form(difference, v.Difference)
	if p := m.scatter(x); !m.paired {
		v.ScatterA, v.ScatterB = p[0], p[1]
	} else {
		v.ScatterA, v.ScatterB = ownScatter(m.sides[0], x[0]), ownScatter(m.sides[1], x[1])
	}
	if dof := v.Difference.DoF(); !math.IsInf(dof, 1) {
		v.DoF = dof
	}
	v.Budget = v.Difference.Budget()
	for _, e := range quantity.SharedIn(v.A, v.B, v.Difference) {
		if e.Common() {
			v.Shared = append(v.Shared, e)
		}
	}
	if m.hasScatter() {
		v.CI95 = m.interval(difference)
	}
}

func (m *model) unpairedCopy() *model {
	p := *m
	p.paired = false
	return &p
}

// form says in which form a contrast is known when v is it at the places.
func (m *model) form(c contrast, v quantity.Value) quantity.Outcome {
	lo, hi := c.shift, c.shift
	for s, k := range [2]float64{c.kA, c.kB} {
		n := float64(m.sides[s].n())
		for _, e := range m.sides[s].entries {
			a, b := e.lo, e.hi
			if k < 0 {
				a, b = b, a
			}
			if k != 0 {
				lo, hi = lo+k*a/n, hi+k*b/n
			}
		}
	}
	switch {
	case math.IsInf(lo, -1) && math.IsInf(hi, 1):
		return quantity.Outcome{}
	case math.IsInf(hi, 1):
		return quantity.Above(v.Shift(lo - v.Estimate()))
	case math.IsInf(lo, -1):
		return quantity.Below(v.Shift(hi - v.Estimate()))
	case hi-lo > 1e-12*math.Max(math.Abs(hi), math.Abs(lo)):
		return quantity.Between(lo, hi)
	}
	return quantity.Known(v)
}

// interval returns the 95 % interval of a contrast, the hull of the intervals of
// all that is allowed; nil where a bound leaves it open.
func (m *model) interval(c contrast) *[2]float64 {
	x, open, below := m.cautiousPlaces(c)
	if _, _, above := m.cautiousPlaces(c.neg()); !below || !above {
		return nil
	}
	out, e := [2]float64{math.Inf(1), math.Inf(-1)}, m.evaluator(c)
	widen := func() {
		lo, hi := interval95(e.at(x))
		out[0], out[1] = math.Min(out[0], lo), math.Max(out[1], hi)
	}
	if tooMany(open) {
		lo, hi := m.form(c, m.at(c, x)).Lo, m.form(c, m.at(c, x)).Hi
		widen()
		half := (hi - lo) / 2
		out[0], out[1] = out[0]-half, out[1]+half
	} else {
		m.corners(x, open, widen)
	}
	if !finite(out[0]) || !finite(out[1]) {
		return nil
	}
	return &out
}

// interval95 is the 95 % interval of a value by Student's t.
func interval95(v quantity.Value) (lo, hi float64) {
	half := 0.0
	if u := v.U(); u > 0 {
		half = quantile(0.975, v.DoF()) * u
	}
	return v.Estimate() - half, v.Estimate() + half
}
