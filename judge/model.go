package judge

import (
	"maps"
	"math"
	"slices"

	"setwright/quantity"
)

// contrast is a linear function of both sides' means, kA·mean(a) + kB·mean(b) +
// shift. Every statement about a difference, a ratio or a promise is that some
// contrast is above zero; for a ratio this is Fieller's construction.
type contrast struct{ kA, kB, shift float64 }

var difference = contrast{-1, 1, 0}

func (c contrast) neg() contrast { return contrast{-c.kA, -c.kB, -c.shift} }

// add returns c + k·d.
func (c contrast) add(k float64, d contrast) contrast {
	return contrast{c.kA + k*d.kA, c.kB + k*d.kB, c.shift + k*d.shift}
}

// model is a comparison made ready: the entries of both sides, the known
// scatter, and whether runs are judged pair by pair.
type model struct {
	names  [2]string
	figure string
	sides  [2]group
	known  [2]*Spread
	paired bool // entry i of a belongs to entry i of b

	scatterOf [4]quantity.Source // run to run: of a, of b, of both, of the pairs
}

// The places in model.scatterOf.
const (
	ofA = iota
	ofB
	ofBoth
	ofPairs
)

func newModel(c Criterion, names [2]string, a, b []entry, opt Options, paired bool) *model {
	m := &model{names: names, figure: c.Figure, paired: paired}
	m.sides = [2]group{newGroup(names[0], a), newGroup(names[1], b)}
	m.known = [2]*Spread{opt.KnownScatter, opt.KnownScatter}
	if opt.KnownB != nil {
		m.known[1] = opt.KnownB
	}
	for i, of := range [4]string{ofA: names[0], ofB: names[1], ofBoth: names[0] + " and " + names[1], ofPairs: "pairs"} {
		key := quantity.SourceKey{Kind: quantity.FromSet, Of: of, Quantity: m.figure, Cell: "run to run"}
		m.scatterOf[i] = key.Source("run to run, "+of, 0)
	}
	return m
}

// modelOf is the model of [Compare] for the same runs, nil where it makes none.
func modelOf(a, b Side, c Criterion, opt Options) *model {
	v := start(a, b, c)
	as, bs := v.take(a, v.NameA), v.take(b, v.NameB)
	if len(as) == 0 || len(bs) == 0 || choices(a, b) {
		return nil
	}
	pa, pb, paired := v.pairUp(as, bs, opt)
	return newModel(c, [2]string{v.NameA, v.NameB}, pa, pb, opt, paired)
}

// allExact reports whether no bound or interval is among the runs.
func (m *model) allExact() bool {
	for _, g := range m.sides {
		for _, e := range g.entries {
			if !e.exact() {
				return false
			}
		}
	}
	return true
}

// places returns where the observations are put when one number is wanted:
// values, middles of intervals, limits of bounds.
func (m *model) places() [2][]float64 {
	return [2][]float64{numbers(m.sides[0].entries), numbers(m.sides[1].entries)}
}

// hasScatter reports whether run-to-run scatter is known for both sides.
func (m *model) hasScatter() bool {
	if m.paired {
		return true
	}
	p := m.scatter(m.places())
	return p[0].known() && p[1].known()
}

// at returns the contrast when the readings are x.
func (m *model) at(c contrast, x [2][]float64) quantity.Value { return m.evaluator(c).at(x) }

// evaluator evaluates one contrast at many readings. What the named sources add
// depends only on where the scatter is taken from, so it is kept.
type evaluator struct {
	m     *model
	c     contrast
	named map[[2]string][]quantity.Contribution
}

func (m *model) evaluator(c contrast) evaluator {
	return evaluator{m, c, map[[2]string][]quantity.Contribution{}}
}

func (e evaluator) at(x [2][]float64) quantity.Value {
	if e.m.paired {
		return e.m.pairedAt(e.c, x)
	}
	p := e.m.scatter(x)
	from := [2]string{p[0].From, p[1].From}
	named, seen := e.named[from]
	if !seen {
		named = e.m.named(e.c, p)
		e.named[from] = named
	}
	f := e.c.kA*mean(x[0]) + e.c.kB*mean(x[1]) + e.c.shift
	return quantity.New(f, append(e.m.runToRun(e.c, p), named...)...)
}

// runToRun returns the contributions of scatter to a contrast: one for each
// side, or one for both where they rest on the same estimate.
func (m *model) runToRun(c contrast, p pair) []quantity.Contribution {
	part, dof := [2]float64{}, [2]float64{p[0].DoF, p[1].DoF}
	for i, k := range [2]float64{c.kA, c.kB} {
		if p[i].known() {
			part[i] = k * p[i].SD / math.Sqrt(float64(m.sides[i].n()))
		}
	}
	if part[0] != 0 && part[1] != 0 {
		if p.dependent() {
			joined := joinedDoF(part[0], dof[0], part[1], dof[1])
			return []quantity.Contribution{m.scatterPart(ofBoth, math.Hypot(part[0], part[1]), joined)}
		}
		dof[0], dof[1] = fewRunsDoF(part[0], dof[0], part[1], dof[1])
	}
	var out []quantity.Contribution
	for i := range part {
		if part[i] != 0 {
			out = append(out, m.scatterPart(i, part[i], dof[i]))
		}
	}
	return out
}

// scatterPart is a contribution of run-to-run scatter.
func (m *model) scatterPart(of int, c, dof float64) quantity.Contribution {
	s := m.scatterOf[of]
	if !math.IsInf(dof, 1) {
		s.DoF = dof
	}
	return quantity.Contribution{Source: s, C: c}
}

// named returns what the named sources add to a contrast beyond the scatter.
func (m *model) named(c contrast, p pair) []quantity.Contribution {
	net, shown, sources := map[string]float64{}, map[string]float64{}, map[string]quantity.Source{}
	biggest := map[string]float64{}
	for i, k := range [2]float64{c.kA, c.kB} {
		for _, e := range m.sides[i].effects {
			net[e.ID] += k * e.mean
			biggest[e.ID] = math.Max(biggest[e.ID], math.Abs(k*e.mean))
			shown[e.ID] += k * k * shownBy(e, p[i], m.sides[i].n())
			s := e.Source
			if old, seen := sources[e.ID]; seen {
				s.DoF = cautious(s.DoF, old.DoF)
			}
			sources[e.ID] = s
		}
	}
	var out []quantity.Contribution
	for _, id := range slices.Sorted(maps.Keys(sources)) {
		if math.Abs(net[id]) <= 1e-12*biggest[id] {
			continue // cancelled to rounding
		}
		if r := rest(net[id], shown[id]); r != 0 {
			out = append(out, quantity.Contribution{Source: sources[id], C: r})
		}
	}
	return out
}

// shownBy is how much of a source's variance in the mean the scatter used for a
// side already holds. A scatter that does not come from these runs alone holds
// the runs' own noise and nothing else; no scatter holds nothing.
func shownBy(e effect, s SideScatter, n int) float64 {
	switch {
	case !s.known():
		return 0
	case s.From == FromTheseRuns:
		return e.shown
	case fromRun(e.ID) && n > 1:
		return e.shown
	case fromRun(e.ID):
		return e.mean * e.mean
	}
	return 0
}

// pairedAt judges the pairs' own contrasts as one sample.
func (m *model) pairedAt(c contrast, x [2][]float64) quantity.Value {
	n := len(x[0])
	z, entries := make([]float64, n), make([]entry, n)
	for i := range z {
		z[i] = c.kA*x[0][i] + c.kB*x[1][i] + c.shift
		a, b := m.sides[0].entries[i].parts, m.sides[1].entries[i].parts
		v := quantity.Combine(z[i], []quantity.Value{quantity.New(0, a...), quantity.New(0, b...)}, []float64{c.kA, c.kB})
		entries[i].parts = v.Contributions()
	}
	g := newGroup("pairs", entries)
	s := ownScatter(g, z)
	var parts []quantity.Contribution
	for _, e := range g.effects {
		if r := rest(e.mean, e.shown); r != 0 {
			parts = append(parts, quantity.Contribution{Source: e.Source, C: r})
		}
	}
	if s.SD > 0 {
		parts = append(parts, m.scatterPart(ofPairs, s.SD/math.Sqrt(float64(n)), s.DoF))
	}
	return quantity.New(mean(z), parts...)
}
