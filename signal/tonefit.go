package signal

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// toneFit is a tone fitted to one channel: phase, frequency and slide, by
// maximum likelihood, with the amplitude constant or following the envelope.
type toneFit struct {
	phi, df, dc float64 // radians in the middle; Hz and Hz/s beyond the channel's
	amp         float64 // rms of the envelope, as a peak amplitude, the mixer's gain not taken off
	energy      float64 // ∫ a² dt
	seconds     float64 // of valid samples
	n1          float64 // density of the noise beside the tone, one-sided, full-scale²/Hz by the mixer's gain
	dof         int     // of n1
	cov         [3]float64
	// cov holds the variances of phase (rad²), frequency and slide for n1 = 1.
	along   float64 // mean power of what is left along the tone: noise and envelope
	across  float64 // and across it: noise, phase and other lines
	varying bool    // the envelope is not constant
	lines   []line
}

// snrEnergy is the tone's energy over the density, 2E/N0.
func (f *toneFit) snrEnergy() float64 {
	if f.n1 <= 0 {
		return math.Inf(1)
	}
	return f.energy / f.n1
}

// line is another steady tone in a channel, hz from the channel's middle.
type line struct {
	hz, amp float64
}

// fit fits a tone near df hertz from the channel's middle. density is what is
// known of the noise from before, 0 for nothing.
func (u *tuner) fit(c *channel, df, density float64) toneFit {
	n := len(c.t)
	u.resRe, u.resIm = resized(u.resRe, n), resized(u.resIm, n)
	u.weight = resized(u.weight, n)
	for i := range n {
		u.weight[i] = 0
		if i >= c.from && i < c.to {
			u.weight[i] = 1
		}
	}
	f := toneFit{df: df, seconds: float64(c.to-c.from) * c.dt}
	u.refine(c, &f, c.re, c.im, 8)
	u.noise(c, &f)
	u.clean(c, &f, density)
	re, im := c.re, c.im
	if len(f.lines) > 0 {
		re, im = u.lineRe, u.lineIm
	}
	u.followEnvelope(c, &f, re, im)
	if f.varying && len(f.lines) == 0 {
		u.clean(c, &f, density)
	}
	if len(f.lines) > 0 {
		u.jointly(c, &f)
	}
	return f
}

// refine makes Gauss-Newton steps on the phase. Weight is the envelope, up to a
// common factor.
func (u *tuner) refine(c *channel, f *toneFit, re, im []float64, most int) {
	for k := range most {
		u.turnBack(c, f, re, im)
		if k == 0 && f.phi == 0 {
			u.align(c, f)
			u.turnBack(c, f, re, im)
		}
		var info [6]float64 // 11, 12, 13, 22, 23, 33
		var right [3]float64
		scale := u.level(c)
		if scale <= 0 {
			u.align(c, f)
			continue
		}
		for i := c.from; i < c.to; i++ {
			a := u.weight[i] * scale
			g2, g3 := 2*math.Pi*c.t[i], math.Pi*c.t[i]*c.t[i]
			w := a * a
			info[0] += w
			info[1] += w * g2
			info[2] += w * g3
			info[3] += w * g2 * g2
			info[4] += w * g2 * g3
			info[5] += w * g3 * g3
			right[0] += a * u.q[i]
			right[1] += a * u.q[i] * g2
			right[2] += a * u.q[i] * g3
		}
		step, inverse := solve3(info, right)
		f.phi += step[0]
		f.df += step[1]
		f.dc += step[2]
		f.energy = info[0] * c.dt
		for i := range inverse {
			f.cov[i] = inverse[i] / c.dt
		}
		if math.Abs(step[0]) < 1e-7 && math.Abs(step[1])*f.seconds < 1e-8 && math.Abs(step[2])*f.seconds*f.seconds < 1e-7 {
			break
		}
	}
	u.turnBack(c, f, re, im)
	if f.seconds > 0 {
		f.amp = math.Sqrt(f.energy / f.seconds)
	}
}

// turnBack turns the samples back by the fitted phase, into the part along the
// tone (p) and across it (q).
func (u *tuner) turnBack(c *channel, f *toneFit, re, im []float64) {
	n := len(c.t)
	u.p, u.q = resized(u.p, n), resized(u.q, n)
	w := turn(-(f.phi/(2*math.Pi) + f.df*c.t[0] + f.dc*c.t[0]*c.t[0]/2))
	d := turn(-(f.df*c.dt + f.dc*(c.t[0]*c.dt+c.dt*c.dt/2)))
	dd := turn(-f.dc * c.dt * c.dt)
	for i := range n {
		u.p[i] = re[i]*real(w) - im[i]*imag(w)
		u.q[i] = re[i]*imag(w) + im[i]*real(w)
		w *= d
		d *= dd
	}
}

// align turns the phase so that the sum lies along the tone.
func (u *tuner) align(c *channel, f *toneFit) {
	var p, q float64
	for i := c.from; i < c.to; i++ {
		p += u.weight[i] * u.p[i]
		q += u.weight[i] * u.q[i]
	}
	f.phi += math.Atan2(q, p)
}

// level is the factor by which the weights become the envelope.
func (u *tuner) level(c *channel) float64 {
	var above, below float64
	for i := c.from; i < c.to; i++ {
		above += u.weight[i] * u.p[i]
		below += u.weight[i] * u.weight[i]
	}
	if below == 0 {
		return 0
	}
	return above / below
}

// solve3 solves a symmetric system of three and returns the diagonal of the
// inverse too; a singular one gives zero steps and infinite variances.
func solve3(m [6]float64, b [3]float64) (x, inverse [3]float64) {
	a11, a12, a13, a22, a23, a33 := m[0], m[1], m[2], m[3], m[4], m[5]
	c11, c12, c13 := a22*a33-a23*a23, a13*a23-a12*a33, a12*a23-a13*a22
	c22, c23, c33 := a11*a33-a13*a13, a12*a13-a11*a23, a11*a22-a12*a12
	det := a11*c11 + a12*c12 + a13*c13
	if !(det > 1e-12*a11*a22*a33) {
		inf := math.Inf(1)
		return x, [3]float64{inf, inf, inf}
	}
	x[0] = (c11*b[0] + c12*b[1] + c13*b[2]) / det
	x[1] = (c12*b[0] + c22*b[1] + c23*b[2]) / det
	x[2] = (c13*b[0] + c23*b[1] + c33*b[2]) / det
	return x, [3]float64{c11 / det, c22 / det, c33 / det}
}

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

// envelopeWidth is the number of channel samples over which the envelope is
// averaged: 50 ms, a fast dot.
const envelopeWidth = 5

// followEnvelope fits again with the envelope as weight where it is not
// constant: a faded or keyed tone.
func (u *tuner) followEnvelope(c *channel, f *toneFit, re, im []float64) {
	u.turnBack(c, f, re, im)
	for range 2 {
		mean := u.smoothAlong(c)
		spread := 0.0
		for i := c.from; i < c.to; i++ {
			d := u.smoothed[i] - mean
			spread += d * d
		}
		spread /= float64(max(1, c.to-c.from))
		// Of noise the smoothed part along the tone has about this variance: half of
		// the vector's density over the bandwidth of a mean of 50 ms.
		noisy := f.n1 / (envelopeWidth * c.dt)
		if spread < 3*noisy+0.0025*mean*mean {
			return
		}
		f.varying = true
		floor := 2.5 * math.Sqrt(noisy)
		for i := c.from; i < c.to; i++ {
			u.weight[i] = 0
			if u.smoothed[i] > floor {
				u.weight[i] = u.smoothed[i]
			}
		}
		u.refine(c, f, re, im, 6)
		u.noise(c, f)
	}
}

// smoothAlong averages the part along the tone over the envelope's width and
// returns its mean.
func (u *tuner) smoothAlong(c *channel) float64 {
	u.smoothed = resized(u.smoothed, len(c.t))
	mean := 0.0
	for i := c.from; i < c.to; i++ {
		a, b := max(c.from, i-envelopeWidth/2), min(c.to, i+envelopeWidth/2+1)
		sum := 0.0
		for k := a; k < b; k++ {
			sum += u.p[k]
		}
		u.smoothed[i] = sum / float64(b-a)
		mean += u.smoothed[i]
	}
	return mean / float64(max(1, c.to-c.from))
}

func medianOf(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)/2]
}
