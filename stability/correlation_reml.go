package stability

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// noiseCellsData is a residual averaged in cells, with the fitted columns.
type noiseCellsData struct {
	start, end float64
	spacing    float64 // of cells
	perCell    float64 // readings in a cell, typically
	raw        float64 // spacing of readings
	effective  float64
	t, count   []float64
	y          []float64
	x          [][]float64 // orthonormal
}

func newNoiseCells(t, residual, weights []float64, fitted [][]float64) *noiseCellsData {
	n := len(t)
	c := &noiseCellsData{start: t[0], end: t[n-1]}
	cell := noiseAssign(t)
	cells := cell[n-1] + 1
	one := make([]float64, n)
	for i := range one {
		one[i] = 1
	}
	used := noiseUsed(residual, weights)
	sum := func(v []float64) []float64 {
		out := make([]float64, cells)
		for i, k := range cell {
			if used[i] {
				out[k] += v[i]
			}
		}
		return out
	}
	count := sum(one)
	columns := [][]float64{sum(t), sum(residual)}
	for _, col := range append([][]float64{one}, fitted...) {
		columns = append(columns, sum(col))
	}
	c.fill(columns, count)
	c.spacing = (c.end - c.start) / math.Max(1, float64(len(c.t)-1))
	c.perCell = float64(n) / float64(len(c.t))
	c.raw = c.spacing / c.perCell
	c.effective = EffectivePoints(residual)
	return c
}

// noiseAssign gives each reading its cell: itself up to noiseCells readings,
// else equal numbers if evenly spaced, else equal lengths of time.
func noiseAssign(t []float64) []int {
	n := len(t)
	out := make([]int, n)
	_, even := wuSpacing(t)
	m := (n + noiseCells - 1) / noiseCells
	last := -1
	lastKey := math.Inf(-1)
	for i := range t {
		key := float64(i / m)
		if !even && m > 1 {
			key = math.Floor((t[i] - t[0]) / (t[n-1] - t[0]) * noiseCells)
		}
		if key > lastKey {
			last++
			lastKey = key
		}
		out[i] = last
	}
	return out
}

// noiseUsed leaves out readings set aside and single slips: a residual 8 robust
// standard deviations off the median of the three around it.
func noiseUsed(residual, weights []float64) []bool {
	n := len(residual)
	used := make([]bool, n)
	dev := make([]float64, n)
	for i := range dev {
		lo, hi := residual[max(i-1, 0)], residual[min(i+1, n-1)]
		mid := math.Max(math.Min(lo, hi), math.Min(math.Max(lo, hi), residual[i]))
		dev[i] = math.Abs(residual[i] - mid)
	}
	limit := 8 * wuSpread(dev)
	for i := range used {
		used[i] = (weights == nil || weights[i] > 0) && (dev[i] <= limit || limit == 0)
	}
	return used
}

// fill keeps the cells that hold a reading and makes the columns orthonormal.
func (c *noiseCellsData) fill(columns [][]float64, count []float64) {
	kept := make([][]float64, len(columns))
	for i, n := range count {
		if n == 0 {
			continue
		}
		c.count = append(c.count, n)
		for j, col := range columns {
			kept[j] = append(kept[j], col[i]/n)
		}
	}
	c.t, c.y = kept[0], kept[1]
	for _, col := range kept[2:] {
		c.extend(col)
	}
}

// extend adds a fitted column, unless those before say the same.
func (c *noiseCellsData) extend(col []float64) {
	v := append([]float64(nil), col...)
	norm := wuNorm(v)
	before := len(c.x)
	c.x, _ = wuExtend(c.x, v)
	if len(c.x) > before && noiseDependent(c.x[before], col, norm) {
		c.x = c.x[:before]
	}
}

// noiseDependent tells whether what a column adds to those before is too little to count.
func noiseDependent(q, col []float64, norm float64) bool {
	return math.Abs(wuDot(q, col)) < 1e-7*norm
}

func (c *noiseCellsData) dof() int { return len(c.t) - len(c.x) }

func (c *noiseCellsData) power() float64 { return wuDot(c.y, c.y) }

// noiseFactor is the state of the factorisation K = L·D·Lᵀ, a cell at a time,
// for K = diag + Σ_j v_j·exp(−|lag|/tau_j) (Foreman-Mackey et al. 2017, eqs. 34
// to 46, with real exponents alone).
type noiseFactor struct {
	v, tau, rho []float64
	w           []float64
	s           []float64 // j × j
	f           [][]float64
	step        float64
}

// likelihood returns the restricted log likelihood with the common scale
// integrated out, and the estimate of that scale (variance units), for white
// noise of variance white for a reading plus the given parts.
func (c *noiseCellsData) likelihood(white float64, parts []noisePart) (log, scale float64) {
	p := len(c.x)
	k := newNoiseFactor(len(parts), p+1)
	diag := 0.0
	for j, part := range parts {
		within, across := c.averaged(part.TauS)
		k.v[j], k.tau[j] = part.Var*across, part.TauS
		diag += part.Var * within
	}
	gram := mat.NewSymDense(p+1, nil)
	g := gram.RawSymmetric().Data
	z := make([]float64, p+1)
	last, lastD := c.t[0], 0.0
	for i, t := range c.t {
		if i > 0 {
			k.advance(t-last, lastD, z)
		}
		last = t
		d := k.pivot(diag + white/c.count[i])
		if !(d > 0) {
			return math.Inf(-1), 0
		}
		for q := range p {
			z[q] = c.x[q][i] - k.forward(q)
		}
		z[p] = c.y[i] - k.forward(p)
		lastD = d
		log -= math.Log(d) / 2
		for a := range z {
			za := z[a] / d
			for b := a; b <= p; b++ {
				g[a*(p+1)+b] += za * z[b]
			}
		}
	}
	return c.restricted(log, gram)
}

// whitened returns the generalised sum of squares under a model: that of the
// residual with its correlation taken out, the fitted columns adjusted to it.
func (c *noiseCellsData) whitened(m NoiseModel) float64 {
	white, parts := m.WhiteVar, m.parts
	if len(parts) == 0 {
		white = 1
	}
	_, scale := c.likelihood(white, parts)
	return scale * float64(c.dof())
}

// restricted finishes the likelihood from the Gram matrix of columns and
// residual: the last pivot of its Cholesky factor is the weighted sum of squares.
func (c *noiseCellsData) restricted(log float64, gram *mat.SymDense) (float64, float64) {
	var chol mat.Cholesky
	p := len(c.x)
	if !chol.Factorize(gram) {
		return math.Inf(-1), 0
	}
	var u mat.TriDense
	chol.UTo(&u)
	for i := range p {
		log -= math.Log(u.At(i, i))
	}
	rss := u.At(p, p) * u.At(p, p)
	nu := float64(c.dof())
	return log - nu/2*math.Log(rss), rss / nu
}

// averaged returns the variance of a cell's mean and the factor on the
// covariance of two cells, for a process of unit variance.
func (c *noiseCellsData) averaged(tau float64) (within, across float64) {
	m := int(c.perCell + 0.5)
	if m <= 1 {
		return 1, 1
	}
	x := c.raw / tau
	g := 0.0
	for i := range m {
		g += math.Cosh(x * (float64(i) - float64(m-1)/2))
	}
	g /= float64(m)
	sum := float64(m)
	for lag := 1; lag < m; lag++ {
		sum += 2 * float64(m-lag) * math.Exp(-x*float64(lag))
	}
	return sum / float64(m*m), g * g
}

func newNoiseFactor(parts, columns int) *noiseFactor {
	k := &noiseFactor{v: make([]float64, parts), tau: make([]float64, parts), rho: make([]float64, parts),
		w: make([]float64, parts), s: make([]float64, parts*parts), f: make([][]float64, columns)}
	for i := range k.f {
		k.f[i] = make([]float64, parts)
	}
	return k
}

// advance moves the state over dt, past a cell of pivot d and forward values z.
func (k *noiseFactor) advance(dt, d float64, z []float64) {
	n := len(k.v)
	if math.Abs(dt-k.step) > 1e-9*dt || k.step == 0 {
		for j, tau := range k.tau {
			k.rho[j] = math.Exp(-dt / tau)
		}
		k.step = dt
	}
	for a := range n {
		for b := range a + 1 {
			s := k.rho[a] * k.rho[b] * (k.s[a*n+b] + d*k.w[a]*k.w[b])
			k.s[a*n+b], k.s[b*n+a] = s, s
		}
	}
	for q, f := range k.f {
		for j := range f {
			f[j] = k.rho[j] * (f[j] + k.w[j]*z[q])
		}
	}
}

// pivot returns d of the new cell with diagonal diag and sets w.
func (k *noiseFactor) pivot(diag float64) float64 {
	n := len(k.v)
	d := diag
	for a := range n {
		us := 0.0
		for b := range n {
			us += k.v[b] * k.s[a*n+b]
		}
		d -= k.v[a] * us
		k.w[a] = 1 - us
	}
	for a := range n {
		k.w[a] /= d
	}
	return d
}

func (k *noiseFactor) forward(q int) float64 {
	sum := 0.0
	for j, f := range k.f[q] {
		sum += k.v[j] * f
	}
	return sum
}
