package signal

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Other lines are taken out of a channel where they stand out of what the tone
// leaves, one after the other, the strongest first; tone and lines are fitted
// in turn until they rest.
const (
	mostLines     = 4
	lineStandsOut = 30.0 // power over the median of the spectrum
	channelNoise  = 50.0 // Hz, noise bandwidth of a channel, about
)

// steady is a line being fitted: a vector of length and phase, hz from the
// channel's middle.
type steady struct {
	hz, re, im float64
}

// clean finds other lines beside the tone and fits the tone without them.
func (u *tuner) clean(c *channel, f *toneFit, density float64) {
	if density > 0 && f.across < 1.6*density*channelNoise {
		return
	}
	if f.across < 0.35*f.along { // the envelope moves; a line would show across as well
		return
	}
	var lines []steady
	for range mostLines {
		hz, found := u.nextLine(c, f, lines)
		if !found {
			break
		}
		lines = append(lines, steady{hz: hz})
		for range 6 {
			u.fitLines(c, f, lines)
			u.withoutLines(c, lines)
			u.refine(c, f, u.lineRe, u.lineIm, 2)
		}
		u.noise(c, f)
	}
	for _, l := range lines {
		f.lines = append(f.lines, line{l.hz, math.Hypot(l.re, l.im)})
	}
}

// nextLine looks for the strongest line in what tone and lines leave.
func (u *tuner) nextLine(c *channel, f *toneFit, lines []steady) (hz float64, found bool) {
	u.withoutTone(c, f)
	u.subtract(c, lines, u.resRe, u.resIm, u.resRe, u.resIm)
	u.unslide(c)
	powers, df := u.spectrum(u.resRe, u.resIm, c)
	all, median := peaks(powers, df, 45, 0.05)
	best := peak{}
	for _, p := range all {
		if p.power > best.power && p.power > lineStandsOut*median && math.Abs(p.hz-f.df) > 1.2/f.seconds && !mirrored(all, p, f.df) {
			best = p
		}
	}
	return best.hz, best.power > 0
}

// mirrored says that a like peak stands on the other side of the tone: a
// sideband of the tone's own, which fades or is keyed.
func mirrored(all []peak, p peak, tone float64) bool {
	for _, o := range all {
		if math.Abs((o.hz-tone)+(p.hz-tone)) < 0.6 && o.power > 0.3*p.power {
			return true
		}
	}
	return false
}

// withoutTone leaves in resRe, resIm what the tone leaves of the channel.
func (u *tuner) withoutTone(c *channel, f *toneFit) {
	u.turnBack(c, f, c.re, c.im)
	scale := u.level(c)
	for i := range c.t {
		w := turn(f.phi/(2*math.Pi) + f.df*c.t[i] + f.dc*c.t[i]*c.t[i]/2)
		a := scale * u.weight[i]
		u.resRe[i], u.resIm[i] = c.re[i]-a*real(w), c.im[i]-a*imag(w)
	}
}

// unslide gives steady lines back the one frequency that the channel's slide
// took from them.
func (u *tuner) unslide(c *channel) {
	if c.c0 == 0 {
		return
	}
	for i, t := range c.t {
		w := turn(c.c0 * t * t / 2)
		a, b := u.resRe[i], u.resIm[i]
		u.resRe[i], u.resIm[i] = a*real(w)-b*imag(w), a*imag(w)+b*real(w)
	}
}

// at is a line's vector in the channel at t.
func (l steady) at(c *channel, t float64) (re, im float64) {
	w := turn(l.hz*t - c.c0*t*t/2)
	return l.re*real(w) - l.im*imag(w), l.re*imag(w) + l.im*real(w)
}

// subtract takes lines from a record.
func (u *tuner) subtract(c *channel, lines []steady, re, im, toRe, toIm []float64) {
	copy(toRe, re)
	copy(toIm, im)
	for _, l := range lines {
		for i := c.from; i < c.to; i++ {
			a, b := l.at(c, c.t[i])
			toRe[i] -= a
			toIm[i] -= b
		}
	}
}

func (u *tuner) withoutLines(c *channel, lines []steady) {
	u.lineRe, u.lineIm = resized(u.lineRe, len(c.t)), resized(u.lineIm, len(c.t))
	u.subtract(c, lines, c.re, c.im, u.lineRe, u.lineIm)
}

// fitLines fits each line to what the tone and the other lines leave.
func (u *tuner) fitLines(c *channel, f *toneFit, lines []steady) {
	u.withoutTone(c, f)
	u.subtract(c, lines, u.resRe, u.resIm, u.resRe, u.resIm)
	for k := range lines {
		u.subtract(c, []steady{{lines[k].hz, -lines[k].re, -lines[k].im}}, u.resRe, u.resIm, u.resRe, u.resIm)
		lines[k] = u.fitLine(c, lines[k])
		u.subtract(c, lines[k:k+1], u.resRe, u.resIm, u.resRe, u.resIm)
	}
}

// fitLine fits length and phase of a line to resRe, resIm, and makes one step
// towards its frequency.
func (u *tuner) fitLine(c *channel, l steady) steady {
	unit := steady{hz: l.hz, re: 1}
	var re, im, tt, mean float64
	n := float64(c.to - c.from)
	for i := c.from; i < c.to; i++ {
		mean += c.t[i] / n
	}
	for i := c.from; i < c.to; i++ {
		a, b := unit.at(c, c.t[i])
		re += u.resRe[i]*a + u.resIm[i]*b
		im += u.resIm[i]*a - u.resRe[i]*b
		tt += (c.t[i] - mean) * (c.t[i] - mean)
	}
	l.re, l.im = re/n, im/n
	across := 0.0
	for i := c.from; i < c.to; i++ {
		a, b := l.at(c, c.t[i])
		across += (u.resIm[i]*a - u.resRe[i]*b) * (c.t[i] - mean)
	}
	if p := l.re*l.re + l.im*l.im; p > 0 && tt > 0 {
		step := across / p / tt / (2 * math.Pi)
		l.hz += max(-0.3, min(0.3, step))
	}
	return l
}

// jointly widens the variances of the tone by what the lines beside it leave
// open: those of the fit of all of them at once, the tone's amplitude, phase,
// frequency and slide, and each line's amplitude, phase and frequency.
func (u *tuner) jointly(c *channel, f *toneFit) {
	n := 4 + 3*len(f.lines)
	info := mat.NewSymDense(n, nil)
	scale := f.amp / math.Max(1e-300, u.weightRMS(c))
	row := make([]complex128, n)
	for i := c.from; i < c.to; i++ {
		t := c.t[i]
		tone := turn(f.phi/(2*math.Pi) + f.df*t + f.dc*t*t/2)
		a := complex(0, scale*u.weight[i]) * tone
		row[0], row[1], row[2] = a, a*complex(2*math.Pi*t, 0), a*complex(math.Pi*t*t, 0)
		row[3] = tone
		for k, l := range f.lines {
			w := turn(l.hz*t-c.c0*t*t/2) * complex(l.amp, 0)
			row[4+3*k], row[5+3*k], row[6+3*k] = w, w*1i, w*complex(0, 2*math.Pi*t)
		}
		for x := range n {
			for y := x; y < n; y++ {
				info.SetSym(x, y, info.At(x, y)+(real(row[x])*real(row[y])+imag(row[x])*imag(row[y]))*c.dt)
			}
		}
	}
	var chol mat.Cholesky
	var inverse mat.SymDense
	if !chol.Factorize(info) || chol.InverseTo(&inverse) != nil {
		f.cov = [3]float64{math.Inf(1), math.Inf(1), math.Inf(1)}
		return
	}
	for k := range f.cov {
		f.cov[k] = math.Max(f.cov[k], inverse.At(k, k))
	}
}

// weightRMS is the rms of the weights over the valid samples.
func (u *tuner) weightRMS(c *channel) float64 {
	sum := 0.0
	for i := c.from; i < c.to; i++ {
		sum += u.weight[i] * u.weight[i]
	}
	return math.Sqrt(sum / float64(max(1, c.to-c.from)))
}
