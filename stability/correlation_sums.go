package stability

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// U returns the standard uncertainty, from the noise alone, of a weighted sum
// of readings at the given times (seconds, not decreasing), and its degrees of
// freedom: the point of the models' uncertainties below which 60 % of their weight lies.
//
// Parts that remember for longer than the record have no mean of their own;
// they are taken as zero at the record's first reading. Sums whose weights come
// to zero (slopes, differences) don't depend on that.
func (n Noise) U(times, weights []float64) (u, dof float64) {
	if len(n.Models) == 0 {
		return 0, math.Inf(1)
	}
	s := make([]float64, len(n.Models))
	cells := noiseGather(times, weights)
	for i := range n.Models {
		s[i] = math.Sqrt(math.Max(0, n.variance(&n.Models[i], cells)))
	}
	return n.mixture(s)
}

// noiseSum is a weighted sum of readings, gathered for the slow parts.
type noiseSum struct {
	t, w   []float64
	square float64 // Σ w² over single readings
	total  float64
}

func noiseGather(times, weights []float64) noiseSum {
	s := noiseSum{}
	for _, w := range weights {
		s.square += w * w
		s.total += w
	}
	if len(times) <= 2*noiseCells {
		s.t, s.w = times, weights
		return s
	}
	m := (len(times) + noiseCells - 1) / noiseCells
	s.t = wuGroup(times, m)
	for i := 0; i < len(weights); i += m {
		sum := 0.0
		for _, w := range weights[i:min(i+m, len(weights))] {
			sum += w
		}
		s.w = append(s.w, sum)
	}
	return s
}

// variance of the sum under one model.
func (n Noise) variance(m *NoiseModel, s noiseSum) float64 {
	v := m.WhiteVar * s.square
	for _, p := range m.parts {
		v += p.Var * n.slow(p.TauS, s, s)
	}
	return v
}

// slow returns Σ_ij a_i b_j k(t_i, t_j) for k = exp(−|t_i − t_j|/tau), or where
// tau exceeds the record for the same process less its value at the start.
func (n Noise) slow(tau float64, a, b noiseSum) float64 {
	pinned := tau > n.EndS-n.StartS
	sum, fa, fb := 0.0, 0.0, 0.0
	last := n.StartS
	if pinned {
		fa, fb = -a.total, -b.total
		sum = fa * fb
	}
	rho, step := 1.0, 0.0
	for i, t := range a.t {
		if dt := math.Abs(t - last); math.Abs(dt-step) > 1e-12*dt {
			rho, step = math.Exp(-dt/tau), dt
		}
		last = t
		fa *= rho
		fb *= rho
		sum += a.w[i]*b.w[i] + a.w[i]*fb + b.w[i]*fa
		fa += a.w[i]
		fb += b.w[i]
	}
	return sum
}

// covariance returns the covariance, from the noise alone, of several weighted
// sums of readings, averaged over the models.
func (n Noise) covariance(times []float64, rows [][]float64) *mat.SymDense {
	out := mat.NewSymDense(len(rows), nil)
	white, slow := n.average()
	sums := make([]noiseSum, len(rows))
	for i, row := range rows {
		sums[i] = noiseGather(times, row)
	}
	for i := range rows {
		for j := i; j < len(rows); j++ {
			v := white * wuDot(rows[i], rows[j])
			for _, p := range slow {
				v += p.Var * n.slow(p.TauS, sums[i], sums[j])
			}
			out.SetSym(i, j, v)
		}
	}
	return out
}

// average returns the models' mean white variance and mean slow parts.
func (n Noise) average() (white float64, slow []noisePart) {
	byTau := map[float64]int{}
	for _, m := range n.Models {
		white += m.Weight * m.WhiteVar
		for _, p := range m.parts {
			i, ok := byTau[p.TauS]
			if !ok {
				i = len(slow)
				byTau[p.TauS] = i
				slow = append(slow, noisePart{0, p.TauS})
			}
			slow[i].Var += m.Weight * p.Var
		}
	}
	return white, slow
}
