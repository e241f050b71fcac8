package signal

import "math"

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
