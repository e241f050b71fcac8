package sensitivity

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// point is one pair of outputs, or one SINAD, at one level.
type point struct {
	dBm   float64 // available from the generator, less the pad
	ratio float64 // dB
	u     float64 // one standard uncertainty of the ratio, readings alone
	// noise names the reading without the signal, 0 for none; commonU is what of
	// u comes from it where several points rest on that one reading.
	noise   int
	commonU float64
	row     int     // of the unamended series, -1 from recordings
	on      float64 // output levels in dB, NaN where there are none
	off     float64
}

// fitted is a law with its parameters.
type fitted struct {
	law
	params []float64
	cov    *mat.SymDense // of the parameters, for the uncertainties of the points
	chi2   float64
	score  float64 // corrected information criterion; the smaller the better
	dof    int
	scale  float64 // by which the points' uncertainties are multiplied
}

// fit fits one law by least squares weighted by the uncertainties of the points
// (readings and attenuator settings: what a setting is off counts by the slope
// of the curve there). ok is false where the readings do not determine it.
func fit(l law, points []point, stepU float64) (fitted, bool) {
	if len(points) < l.size() {
		return fitted{}, false
	}
	best, found := fitted{chi2: math.Inf(1)}, false
	for _, start := range l.starts(points) {
		f, ok := l.descend(start, points, stepU)
		if ok && f.chi2 < best.chi2 {
			best, found = f, true
		}
	}
	if !found {
		return best, false
	}
	best.dof = len(points) - l.size()
	return best, l.sane(best.params, points)
}

// starts are where the search begins: the linear law through the point nearest
// to 10 dB, with usual values of the rest.
func (l law) starts(points []point) [][]float64 {
	near := points[0]
	top := math.Inf(-1)
	for _, p := range points {
		if math.Abs(p.ratio-10) < math.Abs(near.ratio-10) {
			near = p
		}
		top = math.Max(top, p.ratio)
	}
	base := make([]float64, l.size())
	base[0] = near.dBm - 10*math.Log10(math.Max(math.Expm1(near.ratio/10*math.Ln10), 0.05))
	if l.power {
		base[l.atPower] = 1
	}
	if l.ceiling {
		base[l.atCeiling] = top + 3
	}
	if l.leak {
		base[l.atLeak] = base[0] - 6
	}
	out := [][]float64{base}
	if l.power {
		other := append([]float64(nil), base...)
		other[l.atPower] = 1.7
		out = append(out, other)
	}
	if l.ceiling {
		other := append([]float64(nil), base...)
		other[l.atCeiling] = top + 20
		out = append(out, other)
	}
	return out
}

// sane refuses parameters that describe no set: readings that only touch the
// asymptote of a law do not determine it.
func (l law) sane(p []float64, points []point) bool {
	if l.power && !(p[l.atPower] > 0.5 && p[l.atPower] < 2.5) {
		return false
	}
	top, low := math.Inf(-1), math.Inf(1)
	for _, pt := range points {
		top, low = math.Max(top, pt.ratio), math.Min(low, pt.dBm)
	}
	if l.ceiling && !(p[l.atCeiling] < top+12 && p[l.atCeiling] > 0) {
		return false
	}
	return !l.leak || p[l.atLeak] > low-6 && p[l.atLeak] < p[0]+20
}

// descend is a damped Gauss-Newton search.
func (l law) descend(p []float64, points []point, stepU float64) (fitted, bool) {
	damping := 1e-3
	j, r := l.linearise(p, points, stepU)
	chi2 := mat.Dot(r, r)
	for range 100 {
		next, ok := step(j, r, p, damping)
		if !ok {
			return fitted{}, false
		}
		nj, nr := l.linearise(next, points, stepU)
		if c := mat.Dot(nr, nr); c <= chi2 && !math.IsNaN(c) {
			done := chi2-c < 1e-10*(1+chi2)
			p, j, r, chi2, damping = next, nj, nr, c, math.Max(damping/5, 1e-9)
			if done {
				break
			}
			continue
		}
		if damping *= 6; damping > 1e8 {
			break
		}
	}
	normal, _ := normals(j, r, 0)
	var chol mat.Cholesky
	cov := mat.NewSymDense(len(p), nil)
	if !chol.Factorize(normal) || chol.Cond() > 1e12 || chol.InverseTo(cov) != nil {
		return fitted{}, false
	}
	return fitted{law: l, params: p, cov: cov, chi2: chi2, scale: 1}, true
}

// linearise returns the weighted Jacobian and residuals at p, the errors that
// points share taken out.
func (l law) linearise(p []float64, points []point, stepU float64) (*mat.Dense, *mat.VecDense) {
	j := mat.NewDense(len(points), len(p), nil)
	r := mat.NewVecDense(len(points), nil)
	weights := make([]float64, len(points))
	for i, pt := range points {
		w := 1 / math.Hypot(pt.ownU(), stepU*l.slope(pt.dBm, p))
		weights[i] = w
		r.SetVec(i, w*(pt.ratio-l.at(pt.dBm, p)))
		for k, d := range l.gradient(pt.dBm, p) {
			j.Set(i, k, w*d)
		}
	}
	for _, s := range sharings(points) {
		s.whiten(r, weights)
		for k := range p {
			s.whiten(j.ColView(k).(*mat.VecDense), weights)
		}
	}
	return j, r
}

// slope is the change of the ratio with the level, dB/dB.
func (l law) slope(dbm float64, p []float64) float64 {
	const h = 0.01
	return (l.at(dbm+h, p) - l.at(dbm-h, p)) / (2 * h)
}

// gradient is the change of the ratio with each parameter.
func (l law) gradient(dbm float64, p []float64) []float64 {
	out := make([]float64, len(p))
	q := append([]float64(nil), p...)
	for k := range p {
		const h = 1e-4
		q[k] = p[k] + h
		up := l.at(dbm, q)
		q[k] = p[k] - h
		out[k] = (up - l.at(dbm, q)) / (2 * h)
		q[k] = p[k]
	}
	return out
}

// normals are JᵀJ, its diagonal raised by the damping, and Jᵀr.
func normals(j *mat.Dense, r *mat.VecDense, damping float64) (*mat.SymDense, *mat.VecDense) {
	_, n := j.Dims()
	normal := mat.NewSymDense(n, nil)
	normal.SymOuterK(1, j.T())
	for k := range n {
		normal.SetSym(k, k, normal.At(k, k)*(1+damping)+1e-12)
	}
	var g mat.VecDense
	g.MulVec(j.T(), r)
	return normal, &g
}

// step is the next set of parameters.
func step(j *mat.Dense, r *mat.VecDense, p []float64, damping float64) ([]float64, bool) {
	normal, g := normals(j, r, damping)
	var chol mat.Cholesky
	if !chol.Factorize(normal) {
		return nil, false
	}
	var d mat.VecDense
	if chol.SolveVecTo(&d, g) != nil {
		return nil, false
	}
	out := make([]float64, len(p))
	for k := range p {
		out[k] = p[k] + math.Max(-15, math.Min(15, d.AtVec(k)))
		if math.IsNaN(out[k]) {
			return nil, false
		}
	}
	return out, true
}
