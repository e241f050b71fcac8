package stability

import "math"

// wuFit is one solution: time constants as u = ln tau, ascending, and the
// linear constants.
type wuFit struct {
	u     []float64
	c     float64    // constant: the line at the middle of the record
	slope float64    // per half record
	a     [2]float64 // amplitudes at t0
	rss   float64    // within the space of the basis
	iter  int
}

// wuProjection holds the working vectors of one evaluation.
type wuProjection struct {
	b    *wuBasis
	nb   int // linear columns besides the exponentials: constant, line
	yc   []float64
	c, d [2][]float64 // coordinates and derivatives of the exponentials
	q    [2][]float64 // their orthonormal factors, constant and line off
	rm   [2][2]float64
	z    [2]float64
	res  []float64
	jac  [2][]float64
	a    [2]float64
}

func newWuProjection(b *wuBasis, noLine bool) *wuProjection {
	p := &wuProjection{b: b, nb: 2}
	if noLine {
		p.nb = 1
	}
	for k := range 2 {
		p.c[k], p.d[k] = make([]float64, b.r), make([]float64, b.r)
		p.q[k], p.jac[k] = make([]float64, b.r), make([]float64, b.r)
	}
	p.res = make([]float64, b.r)
	return p
}

// residual solves the linear constants for time constants e^u and returns the
// sum of squares left (within the space of the basis).
func (p *wuProjection) residual(u []float64) float64 {
	for k, v := range u {
		p.b.coordinates(v, p.c[k], p.d[k])
	}
	return p.solve(len(u))
}

// solve is residual for n exponentials whose coordinates are in place.
func (p *wuProjection) solve(n int) float64 {
	copy(p.res, p.yc)
	for j := range p.nb {
		p.res[j] = 0
	}
	p.factor(n)
	p.amplitudes(n)
	return wuDot(p.res, p.res)
}

// factor does modified Gram-Schmidt, twice, on the exponentials with constant
// and line taken off, and takes the record's part along them out of res.
func (p *wuProjection) factor(n int) {
	for k := range n {
		q := p.q[k]
		copy(q, p.c[k])
		for j := range p.nb {
			q[j] = 0
		}
		for i := range k {
			p.rm[i][k] = 0
			for range 2 {
				d := wuDot(p.q[i], q)
				p.rm[i][k] += d
				wuAxpy(-d, p.q[i], q)
			}
		}
		norm := math.Sqrt(wuDot(q, q))
		p.rm[k][k] = norm
		inv := 0.0
		if norm > 0 {
			inv = 1 / norm
		}
		for j := range q {
			q[j] *= inv
		}
		p.z[k] = wuDot(q, p.res)
		wuAxpy(-p.z[k], q, p.res)
	}
}

func (p *wuProjection) amplitudes(n int) {
	for k := n - 1; k >= 0; k-- {
		v := p.z[k]
		for i := k + 1; i < n; i++ {
			v -= p.rm[k][i] * p.a[i]
		}
		p.a[k] = 0
		if p.rm[k][k] > 0 {
			p.a[k] = v / p.rm[k][k]
		}
	}
}

// jacobian writes Kaufman's Jacobian of the residual by u,
// −(1 − QQᵀ)·(∂φ_k/∂u_k)·a_k; the part left out is along Q, so the gradient of
// the sum of squares is exact.
func (p *wuProjection) jacobian(n int) {
	for k := range n {
		j := p.jac[k]
		for i := range j {
			j[i] = -p.a[k] * p.d[k][i]
		}
		for i := range p.nb {
			j[i] = 0
		}
		for i := range n {
			wuAxpy(-wuDot(p.q[i], j), p.q[i], j)
		}
	}
}

// determined tells whether the time constants make a difference to the curve
// that amplitudes and line can't take up, and no two the same.
func (p *wuProjection) determined(u []float64) bool {
	n := len(u)
	p.residual(u)
	p.jacobian(n)
	for k := range n {
		norm := math.Sqrt(wuDot(p.jac[k], p.jac[k]))
		if !(norm > 1e-7*math.Abs(p.a[k])*math.Sqrt(wuDot(p.c[k], p.c[k]))) {
			return false
		}
	}
	if n < 2 {
		return true
	}
	_, h := p.normal(2)
	return h[0][0]*h[1][1]-h[0][1]*h[0][1] > 1e-12*h[0][0]*h[1][1]
}

const (
	wuMaxIterations = 60
	wuMinRatio      = 0.1   // least difference of ln tau between two terms
	wuFlat          = 1e-13 // share of the sum of squares that rounding may hide
	wuNear          = 1e-4  // steps of ln tau that may be taken untried
	wuStill         = 1e-11 // steps of ln tau too small to matter
)

// minimise runs Levenberg-Marquardt on u from the given start. At the bottom,
// where rounding hides what a step gains, steps are taken untried while they
// shrink: Gauss-Newton ends closer to the minimum than sums of squares can tell.
func (p *wuProjection) minimise(start []float64) wuFit {
	n := len(start)
	u := append([]float64(nil), start...)
	rss := p.residual(u)
	lambda, last, try := 1e-3, math.Inf(1), make([]float64, n)
	iter := 0
	for ; n > 0 && iter < wuMaxIterations; iter++ {
		p.jacobian(n)
		grad, hess := p.normal(n)
		step := wuDamped(grad, hess, lambda, n)
		improved, move := false, p.advance(u, step, try)
		if gain := -(grad[0]*step[0] + grad[1]*step[1]); gain <= wuFlat*rss && move < wuNear {
			if move >= last {
				break // rounding is all that moves it
			}
			copy(u, try)
			rss, last = p.residual(u), move/2
			if move < wuStill {
				break
			}
			continue
		}
		for ; lambda < 1e8; lambda *= 8 {
			step = wuDamped(grad, hess, lambda, n)
			move = p.advance(u, step, try)
			next := p.residual(try)
			if next <= rss {
				improved = next < rss
				rss = next
				copy(u, try)
				lambda = math.Max(lambda/20, 1e-12)
				break
			}
		}
		if !improved || move < wuStill {
			break
		}
	}
	rss = p.residual(u)
	return p.solution(u, rss, iter)
}

func (p *wuProjection) normal(n int) (g [2]float64, h [2][2]float64) {
	for i := range n {
		g[i] = wuDot(p.jac[i], p.res)
		for j := range i + 1 {
			h[i][j] = wuDot(p.jac[i], p.jac[j])
			h[j][i] = h[i][j]
		}
	}
	return g, h
}

// wuDamped solves (H + λ·diag H)·step = −g for one or two unknowns.
func wuDamped(g [2]float64, h [2][2]float64, lambda float64, n int) [2]float64 {
	d0, d1 := h[0][0]*(1+lambda), h[1][1]*(1+lambda)
	if n == 1 || d1 == 0 {
		if d0 == 0 {
			return [2]float64{}
		}
		return [2]float64{-g[0] / d0, 0}
	}
	det := d0*d1 - h[0][1]*h[0][1]
	if det <= 0 || d0 == 0 {
		return [2]float64{0, -g[1] / d1}
	}
	return [2]float64{(-g[0]*d1 + g[1]*h[0][1]) / det, (-g[1]*d0 + g[0]*h[0][1]) / det}
}

// advance writes u + step within the bounds into try, at most a factor e per
// step, terms in order and apart; it returns the largest move.
func (p *wuProjection) advance(u []float64, step [2]float64, try []float64) float64 {
	move := 0.0
	for k := range u {
		s := math.Max(-1, math.Min(1, step[k]))
		try[k] = math.Max(p.b.lo, math.Min(p.b.hi, u[k]+s))
	}
	if len(u) == 2 {
		if try[0] > try[1] {
			try[0], try[1] = try[1], try[0]
		}
		if gap := try[1] - try[0]; gap < wuMinRatio {
			try[1] = math.Min(p.b.hi, try[1]+(wuMinRatio-gap))
			try[0] = math.Min(try[0], try[1]-wuMinRatio)
		}
	}
	for k := range u {
		move = math.Max(move, math.Abs(try[k]-u[k]))
	}
	return move
}

// solution fills in constant and line.
func (p *wuProjection) solution(u []float64, rss float64, iter int) wuFit {
	f := wuFit{u: append([]float64(nil), u...), rss: rss, iter: iter}
	var rest [2]float64
	copy(rest[:], p.yc[:2])
	for k := range u {
		f.a[k] = p.a[k]
		rest[0] -= p.a[k] * p.c[k][0]
		rest[1] -= p.a[k] * p.c[k][1]
	}
	if p.nb == 2 {
		f.slope = rest[1] / p.b.line[1]
	}
	f.c = (rest[0] - f.slope*p.b.line[0]) / p.b.one
	return f
}

func wuDot(a, b []float64) float64 {
	b = b[:len(a)]
	s0, s1 := 0.0, 0.0
	i := 0
	for ; i+1 < len(a); i += 2 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
	}
	if i < len(a) {
		s0 += a[i] * b[i]
	}
	return s0 + s1
}

func wuAxpy(k float64, x, y []float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += k * v
	}
}
