package signal

import (
	"slices"

	"gonum.org/v1/gonum/floats"
)

// The orders of Legendre's polynomials that tell the noise: those above the
// fit's own, which see it within some 8 steps' reciprocals of the tone.
const noiseFrom, noiseTo = 3, 14

// noise estimates the density beside the tone from what lies across it.
func (u *tuner) noise(c *channel, f *toneFit) {
	n := c.to - c.from
	basis := u.legendre(n)
	sum := 0.0
	for _, row := range basis.rows {
		v := floats.Dot(row, u.q[c.from:c.to])
		sum += v * v
	}
	f.dof = len(basis.rows)
	if f.dof > 0 {
		// A coefficient's variance is the two-sided density of q over dt; q has half
		// of the vector's, which is twice the one-sided density of the samples.
		f.n1 = sum / float64(f.dof) * c.dt / basis.gain
	}
	f.along, f.across = 0, 0
	scale := u.level(c)
	for i := c.from; i < c.to; i++ {
		d := u.p[i] - scale*u.weight[i]
		f.along += d * d / float64(n)
		f.across += u.q[i] * u.q[i] / float64(n)
	}
}

// noiseBasis is what tells the noise of n points.
type noiseBasis struct {
	rows [][]float64
	gain float64 // mean power of the rows' coefficients for channel noise of density 1 over dt
}

// legendre returns the orthonormal polynomials of the noise on n points.
func (u *tuner) legendre(n int) noiseBasis {
	if b, ok := u.gram[n]; ok {
		return b
	}
	if len(u.gram) > 64 {
		clear(u.gram)
	}
	all := orthonormal(n, min(noiseTo, n/4))
	b := noiseBasis{rows: all[min(noiseFrom, len(all)):]}
	for _, row := range b.rows {
		b.gain += u.passed(row) / float64(len(b.rows))
	}
	u.gram[n] = b
	return b
}

// orthonormal returns the polynomials up to an order on n points.
func orthonormal(n, most int) (all [][]float64) {
	for order := 0; order <= most; order++ {
		v := make([]float64, n)
		for i := range v {
			v[i] = 1
			if order > 0 {
				v[i] = all[order-1][i] * (2*(float64(i)+0.5)/float64(n) - 1)
			}
		}
		for range 2 { // twice is enough (Kahan and Parlett, from memory)
			for _, w := range all {
				floats.AddScaled(v, -floats.Dot(v, w), w)
			}
		}
		floats.Scale(1/floats.Norm(v, 2), v)
		all = append(all, v)
	}
	return all
}

// passed is the power that white noise of density 1 over dt leaves in the
// coefficient of a row after the channel's filter.
func (u *tuner) passed(row []float64) float64 {
	power := 0.0
	for lag := 0; lag*channelEvery < len(u.taps) && lag < len(row); lag++ {
		k := lag * channelEvery
		p := floats.Dot(u.taps[:len(u.taps)-k], u.taps[k:]) * floats.Dot(row[:len(row)-lag], row[lag:])
		if lag > 0 {
			p *= 2
		}
		power += channelEvery * p
	}
	return power
}

func medianOf(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)/2]
}
