package passband

import "math"

// node is one place on the warped scale: how far it lies from the one before,
// and the point there, if there is one.
type node struct {
	du    float64
	rough float64 // local roughness on the way here, over that of the whole curve; 0: 1
	has   bool
	y     float64
	known float64 // variance that is known, dB²
	per   float64 // readings averaged in the point
}

// state is the mean and the covariance of the response and of its slope.
type state struct {
	m, d          float64 // mean of response and slope
	pmm, pmd, pdd float64
}

// broad is the variance of response and slope before any point is seen.
const broad = 1e7

// predict carries a state over du: the slope walks at random with variance q
// per unit.
func (s state) predict(du, q float64) state {
	d2 := du * du
	return state{
		m: s.m + du*s.d, d: s.d,
		pmm: s.pmm + 2*du*s.pmd + d2*s.pdd + q*d2*du/3,
		pmd: s.pmd + du*s.pdd + q*d2/2,
		pdd: s.pdd + q*du,
	}
}

// update takes in a point and returns its log likelihood.
func (s state) update(y, r float64) (state, float64) {
	v := s.pmm + r
	e := y - s.m
	km, kd := s.pmm/v, s.pmd/v
	out := state{
		m: s.m + km*e, d: s.d + kd*e,
		pmm: s.pmm * r / v, pmd: s.pmd * r / v, pdd: s.pdd - kd*s.pmd,
	}
	return out, -0.5 * (math.Log(v) + e*e/v)
}

// variance of the error of the point at a node.
func (n node) variance(noise2 float64) float64 { return n.known + noise2/n.per }

// q is the roughness on the way to a node.
func (n node) q(whole float64) float64 {
	if n.rough > 0 {
		return whole * n.rough
	}
	return whole
}

// forward filters all nodes. It fills states, where not nil, and returns the
// log likelihood of the points.
func forward(nodes []node, q, noise2 float64, states []state) float64 {
	s := state{pmm: broad, pdd: broad}
	sum := 0.0
	for i, n := range nodes {
		if i > 0 {
			s = s.predict(n.du, n.q(q))
		}
		if n.has {
			var l float64
			s, l = s.update(n.y, n.variance(noise2))
			sum += l
		}
		if states != nil {
			states[i] = s
		}
	}
	return sum
}

// gain is the matrix by which a state learns from the one after it.
func gain(s, p state, du float64) (j [4]float64) {
	det := p.pmm*p.pdd - p.pmd*p.pmd
	// s.P Fᵀ with F = [1 du; 0 1]
	a, b := s.pmm+du*s.pmd, s.pmd
	c, d := s.pmd+du*s.pdd, s.pdd
	return [4]float64{
		(a*p.pdd - b*p.pmd) / det, (b*p.pmm - a*p.pmd) / det,
		(c*p.pdd - d*p.pmd) / det, (d*p.pmm - c*p.pmd) / det,
	}
}

// smoothed turns filtered states into those that know all points.
func smoothed(nodes []node, q float64, filtered, out []state) {
	last := len(nodes) - 1
	out[last] = filtered[last]
	for i := last - 1; i >= 0; i-- {
		s, du := filtered[i], nodes[i+1].du
		p := s.predict(du, nodes[i+1].q(q))
		j := gain(s, p, du)
		next := out[i+1]
		em, ed := next.m-p.m, next.d-p.d
		vmm, vmd, vdd := next.pmm-p.pmm, next.pmd-p.pmd, next.pdd-p.pdd
		cmm, cmd, cdd := sandwich(j, vmm, vmd, vdd)
		out[i] = state{
			m: s.m + j[0]*em + j[1]*ed, d: s.d + j[2]*em + j[3]*ed,
			pmm: math.Max(s.pmm+cmm, 0), pmd: s.pmd + cmd, pdd: math.Max(s.pdd+cdd, 0),
		}
	}
}

// sandwich returns J V Jᵀ.
func sandwich(j [4]float64, vmm, vmd, vdd float64) (mm, md, dd float64) {
	a, b := j[0]*vmm+j[1]*vmd, j[0]*vmd+j[1]*vdd
	c, d := j[2]*vmm+j[3]*vmd, j[2]*vmd+j[3]*vdd
	return a*j[0] + b*j[1], a*j[2] + b*j[3], c*j[2] + d*j[3]
}

// draw makes one response that the points allow: backwards through the filtered
// states. normal gives independent standard normal numbers.
func draw(nodes []node, q float64, filtered []state, normal func() float64, out []float64) {
	last := len(nodes) - 1
	m, d := sample(filtered[last], normal)
	out[last] = m
	for i := last - 1; i >= 0; i-- {
		s, du := filtered[i], nodes[i+1].du
		p := s.predict(du, nodes[i+1].q(q))
		j := gain(s, p, du)
		cmm, cmd, cdd := sandwich(j, p.pmm, p.pmd, p.pdd)
		em, ed := m-p.m, d-p.d
		m, d = sample(state{
			m: s.m + j[0]*em + j[1]*ed, d: s.d + j[2]*em + j[3]*ed,
			pmm: s.pmm - cmm, pmd: s.pmd - cmd, pdd: s.pdd - cdd,
		}, normal)
		out[i] = m
	}
}

// sample draws a response and a slope.
func sample(s state, normal func() float64) (m, d float64) {
	a := math.Sqrt(math.Max(s.pmm, 0))
	b := 0.0
	if a > 0 {
		b = s.pmd / a
	}
	c := math.Sqrt(math.Max(s.pdd-b*b, 0))
	x, y := normal(), normal()
	return s.m + a*x, s.d + b*x + c*y
}
