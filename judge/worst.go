package judge

import "math"

// maxCorners caps the enumeration of what intervals allow; beyond it the verdict
// is made with every interval at its own worst end and the widest scatter.
const maxCorners = 1 << 12

// worst returns the largest one-sided p against "the contrast is not above
// zero" over all values that bounds and intervals allow: 1 where a bound leaves
// the contrast open downwards.
func (m *model) worst(c contrast) float64 {
	x, open, ok := m.cautiousPlaces(c)
	if !ok {
		return 1
	}
	if tooMany(open) {
		return m.worstApart(c, x, open)
	}
	p, e := 0.0, m.evaluator(c)
	m.corners(x, open, func() { p = math.Max(p, e.p(x)) })
	return p
}

func tooMany(open []opening) bool { return len(open) > 30 || 1<<len(open) > maxCorners }

// corners puts the intervals at their middles, in case the degrees of freedom
// bend the rule of the corners, and then at every combination of their ends,
// and visits each.
func (m *model) corners(x [2][]float64, open []opening, visit func()) {
	visit()
	if len(open) == 0 {
		return
	}
	for corner := 0; corner < 1<<len(open); corner++ {
		for j, o := range open {
			e := m.sides[o.side].entries[o.i]
			x[o.side][o.i] = e.lo
			if corner>>j&1 == 1 {
				x[o.side][o.i] = e.hi
			}
		}
		visit()
	}
}

// p is the one-sided p of a contrast at given readings.
func (m *model) p(c contrast, x [2][]float64) float64 { return m.evaluator(c).p(x) }

func (e evaluator) p(x [2][]float64) float64 {
	v := e.at(x)
	return exceeds(v.Estimate(), v.U(), v.DoF())
}

// opening is an observation known only as an interval.
type opening struct{ side, i int }

// cautiousPlaces puts every bound at its limit and lists the intervals. It is
// not ok where a bound's open end pulls the contrast down without limit.
func (m *model) cautiousPlaces(c contrast) (x [2][]float64, open []opening, ok bool) {
	x = m.places()
	for s, k := range [2]float64{c.kA, c.kB} {
		for i, e := range m.sides[s].entries {
			switch {
			case e.exact() || k == 0:
			case math.IsInf(e.hi, 1) && k < 0, math.IsInf(e.lo, -1) && k > 0:
				return x, nil, false
			case !e.bounded():
				open = append(open, opening{s, i})
			}
		}
	}
	return x, open, true
}

// worstApart bounds the worst p from above when the corners are too many: each
// interval at the end that is worst for the estimate, and the scatter of either
// side at its largest, Σ max((lo−m)², (hi−m)²)/(n−1) with the best m.
func (m *model) worstApart(c contrast, x [2][]float64, open []opening) float64 {
	for _, o := range open {
		e, k := m.sides[o.side].entries[o.i], [2]float64{c.kA, c.kB}[o.side]
		x[o.side][o.i] = e.lo
		if k < 0 {
			x[o.side][o.i] = e.hi
		}
	}
	v := m.at(c, x)
	u2 := v.U() * v.U()
	for s, k := range [2]float64{c.kA, c.kB} {
		if n := float64(m.sides[s].n()); n >= 2 {
			u2 += k * k * widestVariance(m.sides[s].entries) / n
		}
	}
	return exceeds(v.Estimate(), math.Sqrt(u2), m.fewestDoF(v.DoF()))
}

func (m *model) fewestDoF(dof float64) float64 {
	for _, g := range m.sides {
		if g.n() >= 2 {
			dof = math.Min(dof, float64(g.n()-1))
		}
	}
	return dof
}

// widestVariance is an upper limit of the sample variance within the intervals.
func widestVariance(es []entry) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, e := range es {
		a, b := ends(e)
		lo, hi = math.Min(lo, a), math.Max(hi, b)
	}
	at := func(mid float64) float64 {
		sum := 0.0
		for _, e := range es {
			a, b := ends(e)
			d := math.Max(math.Abs(a-mid), math.Abs(b-mid))
			sum += d * d
		}
		return sum / float64(len(es)-1)
	}
	for range 80 { // convex in mid
		l, r := lo+(hi-lo)/3, hi-(hi-lo)/3
		if at(l) < at(r) {
			hi = r
		} else {
			lo = l
		}
	}
	return at((lo + hi) / 2)
}

// ends returns the finite ends of an entry, a bound being put at its limit.
func ends(e entry) (lo, hi float64) {
	if e.bounded() {
		return e.at, e.at
	}
	return e.lo, e.hi
}
