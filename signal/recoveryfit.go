package signal

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// fit runs Levenberg and Marquardt's method with differences for derivatives.
func (f *recoveryFit) fit(p []float64) (recovered, error) {
	sigma := 1.0
	var r recovered
	for range 2 { // the second time with the scatter known, for the prior
		if err := f.descend(p, sigma); err != nil {
			return r, err
		}
		res := f.residuals(p, sigma, nil)
		sigma, f.overlap = f.scatter(res, len(p))
		r = recovered{p: p, chi2: squares(res[:len(res)-1]), sigma: sigma, overlap: f.overlap}
	}
	cov, err := f.covariance(p, sigma)
	r.cov = cov
	return r, err
}

// scatter is that of single points of the envelope, and how many count as one:
// those that share a window, or more where what is left says so plainly. Means
// of more points than share a window scatter less and are left out.
func (f *recoveryFit) scatter(res []float64, parameters int) (sigma, overlap float64) {
	sum, n := 0.0, 0
	var plain []float64
	for i, k := range f.k {
		if k > math.Max(1, f.shared) {
			continue
		}
		n++
		sum += res[i] * res[i] / k
		if k == 1 {
			plain = append(plain, res[i])
		}
	}
	overlap = f.shared
	if c := correlated(plain); c > 1.6*f.shared {
		overlap = c
	}
	lost := float64(parameters) * f.shared * float64(n) / float64(len(f.k))
	return math.Max(1e-6, math.Sqrt(sum/math.Max(1, float64(n)-lost))), overlap
}

// correlated is how many neighbours of a series count as one: 1 plus twice the
// sum of the correlations up to the first that is not positive, but at most a
// tenth of its length. Points that share a window, the ripple of a tone that
// beats with the window, and a curve that passes beside the data all raise it.
func correlated(r []float64) float64 {
	var m moments
	for _, v := range r {
		m.add(v)
	}
	if m.spread <= 0 {
		return 1
	}
	sum := 1.0
	for lag := 1; lag < len(r)/8; lag++ {
		c := 0.0
		for i := lag; i < len(r); i++ {
			c += (r[i] - m.mean) * (r[i-lag] - m.mean)
		}
		if c <= 0 {
			break
		}
		sum += 2 * c / m.spread
	}
	return math.Max(1, math.Min(sum, float64(len(r))/10))
}

func (f *recoveryFit) clamp(p []float64) {
	for k := 3; k < len(p); k += 2 {
		p[k] = math.Max(math.Log(f.lo), math.Min(math.Log(f.hi), p[k]))
	}
	for k := 2; k < len(p); k += 2 {
		p[k] = math.Max(-150, math.Min(150, p[k]))
	}
	p[1] = math.Max(-f.window, math.Min(f.window, p[1]))
}

func squares(r []float64) float64 {
	s := 0.0
	for _, v := range r {
		s += v * v
	}
	return s
}

// descend improves p in place.
func (f *recoveryFit) descend(p []float64, sigma float64) error {
	lambda := 1e-2
	res := f.residuals(p, sigma, nil)
	cost := squares(res)
	trial, rt := make([]float64, len(p)), []float64(nil)
	for range 40 {
		normal, grad := f.normal(p, sigma, res)
		improved := false
		for range 8 {
			step, ok := solveDamped(normal, grad, lambda)
			if !ok {
				lambda *= 8
				continue
			}
			for i := range p {
				trial[i] = p[i] + step[i]
			}
			f.clamp(trial)
			rt = f.residuals(trial, sigma, rt)
			if c := squares(rt); c < cost {
				gain := (cost - c) / (cost + 1e-30)
				copy(p, trial)
				res, rt, cost = rt, res, c
				lambda = math.Max(1e-9, lambda/6)
				improved = gain > 1e-7
				break
			}
			lambda *= 6
		}
		if !improved {
			break
		}
	}
	if math.IsNaN(cost) || math.IsInf(cost, 0) {
		return errors.New("signal: the settling curve has no finite fit")
	}
	return nil
}

// normal is JᵀJ and Jᵀr, J the derivatives of the model.
func (f *recoveryFit) normal(p []float64, sigma float64, res []float64) (*mat.SymDense, []float64) {
	n := len(p)
	columns := make([][]float64, n)
	q := append([]float64(nil), p...)
	for i := range p {
		h := 1e-4
		if i == 1 {
			h = f.window * 1e-3
		}
		q[i] = p[i] + h
		up := f.residuals(q, sigma, nil)
		q[i] = p[i]
		for j := range up {
			up[j] = (res[j] - up[j]) / h
		}
		columns[i] = up
	}
	m, g := mat.NewSymDense(n, nil), make([]float64, n)
	for i := range n {
		for j := i; j < n; j++ {
			s := 0.0
			for k, v := range columns[i] {
				s += v * columns[j][k]
			}
			m.SetSym(i, j, s)
		}
		for k, v := range columns[i] {
			g[i] += v * res[k]
		}
	}
	return m, g
}

func solveDamped(m *mat.SymDense, g []float64, lambda float64) ([]float64, bool) {
	n := len(g)
	d := mat.NewSymDense(n, nil)
	d.CopySym(m)
	for i := range n {
		d.SetSym(i, i, m.At(i, i)*(1+lambda)+1e-12)
	}
	var c mat.Cholesky
	if !c.Factorize(d) {
		return nil, false
	}
	out := mat.NewVecDense(n, nil)
	if err := c.SolveVecTo(out, mat.NewVecDense(n, g)); err != nil {
		return nil, false
	}
	return out.RawVector().Data, true
}

// covariance of the parameters: the scatter over the normal matrix, times the
// number of points that count as one (a moving mean over n points correlates as
// 1 − k/n, which sums to n).
func (f *recoveryFit) covariance(p []float64, sigma float64) ([][]float64, error) {
	m, _ := f.normal(p, sigma, f.residuals(p, sigma, nil))
	for i := range p {
		m.SetSym(i, i, m.At(i, i)*(1+1e-9)+1e-9)
	}
	var c mat.Cholesky
	if !c.Factorize(m) {
		return nil, errors.New("signal: the settling curve is not determined")
	}
	var inv mat.SymDense
	if err := c.InverseTo(&inv); err != nil {
		return nil, err
	}
	out := make([][]float64, len(p))
	for i := range out {
		out[i] = make([]float64, len(p))
		for j := range out[i] {
			out[i][j] = inv.At(i, j) * sigma * sigma * f.overlap
		}
	}
	return out, nil
}

// spread is the uncertainty of a function of the parameters.
func (r recovered) spread(g func(p []float64) float64) float64 {
	q := append([]float64(nil), r.p...)
	grad := make([]float64, len(q))
	for i := range q {
		h := math.Max(1e-6, 0.3*math.Sqrt(math.Max(0, r.cov[i][i])))
		q[i] = r.p[i] + h
		up := g(q)
		q[i] = r.p[i] - h
		grad[i] = (up - g(q)) / (2 * h)
		q[i] = r.p[i]
	}
	v := 0.0
	for i := range q {
		for j := range q {
			v += grad[i] * grad[j] * r.cov[i][j]
		}
	}
	return math.Sqrt(math.Max(0, v))
}
