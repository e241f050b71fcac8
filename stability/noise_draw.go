package stability

import (
	"math"
	"math/rand/v2"
)

// addDraw adds one realisation of the noise to f, each of whose values is the
// mean of group readings about time t. The model is drawn by its weight and its
// scale by its degrees of freedom, so that what is not known of the noise is in
// the scatter of the draws.
func (n Noise) addDraw(rng *rand.Rand, t []float64, group int, f []float64) {
	m := n.drawModel(rng.Float64())
	scale := 1.0
	if m.DoF > 0 && m.DoF < 1e6 { // χ²/dof after Wilson and Hilferty (1931)
		v := 2 / (9 * m.DoF)
		scale = math.Pow(math.Max(0.1, 1-v+rng.NormFloat64()*math.Sqrt(v)), -1.5)
	}
	white := scale * math.Sqrt(m.WhiteVar/float64(group))
	for i := range f {
		f[i] += white * rng.NormFloat64()
	}
	for _, p := range m.parts {
		sd := scale * math.Sqrt(p.Var)
		x, last := rng.NormFloat64(), n.StartS
		start := 0.0
		if p.TauS > n.EndS-n.StartS { // remembers for longer than the record: counted from its start
			start = x
		}
		keep, fresh, step := 1.0, 0.0, 0.0
		for i := range f {
			if dt := math.Abs(t[i] - last); dt != step {
				step, keep = dt, math.Exp(-dt/p.TauS)
				fresh = math.Sqrt(-math.Expm1(-2 * dt / p.TauS))
			}
			last = t[i]
			x = keep*x + fresh*rng.NormFloat64()
			f[i] += sd * (x - start)
		}
	}
}

// drawModel returns the model in which p, from 0 to 1, falls by weight.
func (n Noise) drawModel(p float64) NoiseModel {
	for _, m := range n.Models {
		if p -= m.Weight; p < 0 {
			return m
		}
	}
	return n.heaviest()
}
