package signal

import (
	"fmt"
	"math"
)

// RecoveryOptions say how the way back to a steady level is judged.
type RecoveryOptions struct {
	CriterionDB float64 // within so many dB of the final level, 0: 3
	ToS         float64 // where the fit ends, 0: at the next step or the end
}

// Recovery is how the level settles after a step: attack where it has risen,
// recovery where it has fallen.
type Recovery struct {
	Seconds, U          float64 // from the step until the level stays within the criterion of the final one
	FinalDB, FinalU     float64 // dBFS
	OvershootDB         float64 // how far the level rises above the final one after the step, 0 if it does not
	OvershootU          float64
	TauS, TauU          float64 // time constant in dB; the slower where two were needed
	StepDB, CriterionDB float64 // the step as it came out, first level less the level before; the criterion used
	// Bound says that Seconds is only a bound: at most that where AtMost is
	// true (the detector is no faster), else at least that (the record ends
	// first). Why says it in words.
	Bound, AtMost bool
	Why           string
	ResidualDB    float64 // rms of what the fit leaves
	Terms         int     // exponentials fitted, 1 or 2
}

// FitRecovery fits the level after a step: in dB it goes to its final value as
// one or two exponentials do (a first-order loop in dB: t = tau ln(E/c) for an
// overshoot E and criterion c), seen through the same moving rms as the
// envelope, so that the lag of the detector is no part of the answer.
func FitRecovery(env *LevelTrack, step StepEvent, o RecoveryOptions) (Recovery, error) {
	if o.CriterionDB <= 0 {
		o.CriterionDB = 3
	}
	f, err := newRecoveryFit(env, step, recoveryEnd(env, step, o))
	if err != nil {
		return Recovery{}, err
	}
	one, ok1 := f.best(1)
	two, ok2 := f.best(2)
	use := one
	if ok2 && f.resolves(two) && (!ok1 || f.better(two, one) && f.determined(two, o.CriterionDB)) {
		use = two
	}
	if use.p == nil {
		return f.flat(step, o.CriterionDB)
	}
	return f.result(use, step, o.CriterionDB), nil
}

// unseen is the part of a window after a step in which the moving rms still
// holds what was before it.
const unseen = 0.6

// flat is the answer where no curve is determined: the level was the final one at
// once, or nothing can be said.
func (f *recoveryFit) flat(step StepEvent, c float64) (Recovery, error) {
	var m moments
	worst := 0.0
	for i, t := range f.t {
		if t > unseen*f.window {
			m.add(f.y[i])
		}
	}
	for i, t := range f.t {
		if t > unseen*f.window {
			worst = math.Max(worst, math.Abs(f.y[i]-m.mean))
		}
	}
	if m.n < 3 || worst > c {
		return Recovery{}, fmt.Errorf("signal: no settling curve could be fitted to the %.3f s after the step at %.3f s", f.span, step.TimeS)
	}
	u := math.Sqrt(m.variance() * f.shared / float64(m.n))
	return Recovery{FinalDB: m.mean, FinalU: u, StepDB: m.mean - step.BeforeDB, CriterionDB: c, OvershootU: u,
		Seconds: unseen * f.window, U: step.TimeU, Bound: true, AtMost: true,
		Why: fmt.Sprintf("once the moving rms sees it the level is never more than %.3g dB from the final one", c)}, nil
}

// recoveryEnd is where the fit ends.
func recoveryEnd(env *LevelTrack, step StepEvent, o RecoveryOptions) float64 {
	if len(env.TimeS) == 0 {
		return 0
	}
	if o.ToS > 0 {
		return o.ToS
	}
	end := env.TimeS[len(env.TimeS)-1] + env.StepS
	for _, s := range FindSteps(env, StepOptions{}) {
		if s.TimeS > step.TimeS+3*env.WindowS && s.TimeS < end {
			end = s.TimeS - env.WindowS/2 - 2*env.StepS
		}
	}
	return end
}

// recoveryFit is the data of one fit. Parameters: final level, moment of the
// step, then amplitude (dB) and log of the time constant of each exponential.
type recoveryFit struct {
	t, y     []float64 // time from the step as found, level in dB
	window   float64
	before   float64 // power before the step
	priorU   float64 // of the moment of the step
	span     float64
	k        []float64 // how many points of the envelope each is the mean of
	points   float64   // of the envelope, together
	shared   float64   // how many of them share a window
	overlap  float64   // how many of them count as one
	lo, hi   float64   // bounds of the time constants
	sampleAt [recoverySub]float64
}

// recoverySub is the number of points at which the model is averaged over the
// window.
const recoverySub = 16

// recoveryMost is the number of points that a fit takes; a longer stretch is
// thinned evenly on a logarithmic scale of time.
const recoveryMost = 600

func newRecoveryFit(env *LevelTrack, step StepEvent, end float64) (*recoveryFit, error) {
	f := &recoveryFit{window: env.WindowS, before: 0.5 * math.Pow(10, step.BeforeDB/10), priorU: math.Hypot(step.TimeU, env.StepS/4)}
	f.shared = float64(windowSteps(env))
	f.overlap = f.shared
	first, to := env.between(step.TimeS-0.1*env.WindowS, end)
	y := levelsDB(env.Power[first:to])
	last := math.Inf(-1)
	for i, t := range env.TimeS[first:to] {
		t -= step.TimeS
		if t < -0.1*env.WindowS || t > end-step.TimeS {
			continue
		}
		if t-last < 0.5*env.StepS || y[i] <= -200 {
			continue
		}
		f.t, f.y, last = append(f.t, t), append(f.y, y[i]), t
	}
	if len(f.t) < 12 || f.t[len(f.t)-1] < 2*env.WindowS {
		return nil, fmt.Errorf("signal: %d points of the envelope after the step at %.3f s are too few for a settling curve: 12 over at least two windows of %.3g s are needed", len(f.t), step.TimeS, env.WindowS)
	}
	f.span = f.t[len(f.t)-1]
	f.lo, f.hi = env.WindowS/20, 3*f.span
	for i := range f.sampleAt {
		f.sampleAt[i] = ((float64(i)+0.5)/recoverySub - 0.5) * f.window
	}
	f.points = float64(len(f.t))
	f.thin()
	return f, nil
}

// thin keeps at most recoveryMost points: those of the first third as they are,
// later ones as means of more and more neighbours, which count for as many.
func (f *recoveryFit) thin() {
	f.k = make([]float64, len(f.t))
	for i := range f.k {
		f.k[i] = 1
	}
	for len(f.t) > recoveryMost {
		to := len(f.t) / 3
		for i := to; i+1 < len(f.t); i += 2 {
			k := f.k[i] + f.k[i+1]
			f.t[to] = (f.k[i]*f.t[i] + f.k[i+1]*f.t[i+1]) / k
			f.y[to] = (f.k[i]*f.y[i] + f.k[i+1]*f.y[i+1]) / k
			f.k[to] = k
			to++
		}
		f.t, f.y, f.k = f.t[:to], f.y[:to], f.k[:to]
	}
}

// settlingCurve is the model with the exponentials of its parameters taken.
type settlingCurve struct {
	final, moment float64 // level in dB; moment of the step
	size, perS    [2]float64
	terms         int
	fast          float64 // shortest time constant
	atFirst       float64 // power right after the step
}

func curveOf(p []float64) settlingCurve {
	c := settlingCurve{final: p[0], moment: p[1], terms: (len(p) - 2) / 2, fast: math.Inf(1)}
	for k := range c.terms {
		tau := math.Exp(p[3+2*k])
		c.size[k], c.perS[k] = p[2+2*k], 1/tau
		c.fast = math.Min(c.fast, tau)
	}
	c.atFirst = c.power(0)
	return c
}

// deviation is how far from the final level the model is, t seconds after the
// step of the model.
func (c *settlingCurve) deviation(t float64) float64 {
	d := c.size[0] * math.Exp(-t*c.perS[0])
	if c.terms == 2 {
		d += c.size[1] * math.Exp(-t*c.perS[1])
	}
	return d
}

// power is the model's power t seconds after its step.
func (c *settlingCurve) power(t float64) float64 {
	return 0.5 * math.Exp(math.Ln10/10*(c.final+c.deviation(t)))
}

// model is the level that the detector shows at time t: 10 log of the mean power
// over its window. Far from the step the curve within the window is straight
// enough to take its middle.
func (f *recoveryFit) model(c *settlingCurve, t float64) float64 {
	at := t - c.moment
	if at > f.window && (c.fast > 3*f.window || at > f.window/2+8*c.fast) {
		return c.final + c.deviation(at)
	}
	sum := 0.0
	for _, s := range f.sampleAt {
		if at+s < 0 {
			// The sub-interval that holds the step counts by its share, so that
			// the model is smooth in the moment of the step.
			share := math.Max(0, math.Min(1, 0.5+(at+s)/(f.window/recoverySub)))
			sum += (1-share)*f.before + share*c.atFirst
			continue
		}
		share := math.Max(0, math.Min(1, 0.5+(at+s)/(f.window/recoverySub)))
		sum += share*c.power(at+s) + (1-share)*f.before
	}
	return 10 * math.Log10(2*sum/recoverySub)
}

// residuals are data less model, and the moment of the step against what was
// found for it, weighted by sigma.
func (f *recoveryFit) residuals(p []float64, sigma float64, out []float64) []float64 {
	out = out[:0]
	c := curveOf(p)
	for i, t := range f.t {
		out = append(out, math.Sqrt(f.k[i])*(f.y[i]-f.model(&c, t)))
	}
	// Each point counts 1/overlap of a reading: the prior is weighted to match.
	return append(out, p[1]/f.priorU*sigma*math.Sqrt(f.overlap))
}

// start guesses the parameters of one exponential: for each of a row of time
// constants, final level and amplitude by least squares, the detector left out
// of account; the best of them. Two exponentials start from a third and twice
// that time constant, or from it and a sixth or six times it.
func (f *recoveryFit) start() (final, amplitude, tau float64) {
	best := math.Inf(1)
	for try := math.Max(f.window/4, f.lo*2); try < f.span; try *= 1.5 {
		var n, se, see, sy, sey, syy float64
		for i, t := range f.t {
			if t < f.window/2 {
				continue
			}
			e := math.Exp(-t / try)
			n, se, see = n+1, se+e, see+e*e
			sy, sey, syy = sy+f.y[i], sey+e*f.y[i], syy+f.y[i]*f.y[i]
		}
		det := n*see - se*se
		if n < 3 || det < 1e-9*n*n {
			continue
		}
		a := (n*sey - se*sy) / det
		m := (sy - a*se) / n
		if left := syy - m*sy - a*sey; left < best {
			best, final, amplitude, tau = left, m, a, try
		}
	}
	return final, amplitude, tau
}

// starts are the parameters to begin with for so many exponentials.
func (f *recoveryFit) starts(terms int) [][]float64 {
	m, a, tau := f.start()
	if tau == 0 {
		m, _ = meanSpread(f.y[len(f.y)-max(3, len(f.y)/10):])
		a, tau = f.y[min(len(f.y)-1, int(1.2*f.overlap))]-m, math.Max(f.window, f.span/10)
	}
	if terms == 1 {
		return [][]float64{{m, 0, a, math.Log(tau)}, {m, 0, a * 1.5, math.Log(tau / 3)}}
	}
	return [][]float64{
		{m, 0, a / 2, math.Log(tau / 3), a / 2, math.Log(tau * 2)},
		{m, 0, a, math.Log(tau), a / 4, math.Log(math.Min(tau*6, f.span))},
		{m, 0, a / 2, math.Log(tau / 6), a, math.Log(tau)},
	}
}

// recovered is a fit that came to an end.
type recovered struct {
	p     []float64
	cov   [][]float64
	chi2  float64 // sum of squares over data
	sigma float64

	overlap float64
}

// best fits from several starts and keeps the best.
func (f *recoveryFit) best(terms int) (recovered, bool) {
	var out recovered
	ok := false
	for _, p := range f.starts(terms) {
		r, err := f.fit(p)
		if err == nil && (!ok || r.chi2 < out.chi2) {
			out, ok = r, true
		}
	}
	return out, ok
}

// determined says that a fit fixes the time asked for: two exponentials that can
// stand in for each other leave it open, though they fit well.
func (f *recoveryFit) determined(r recovered, c float64) bool {
	time := func(p []float64) float64 { return settles(p, c, f.span) }
	return r.spread(time) < time(r.p)/4
}

// resolves says that no time constant is so short that the detector shows next to
// nothing of it: its amplitude is then not to be known.
func (f *recoveryFit) resolves(r recovered) bool {
	for k := 3; k < len(r.p); k += 2 {
		if math.Exp(r.p[k]) < f.window/3 {
			return false
		}
	}
	return true
}

// better says that the second exponential earns its two parameters: the sum of
// squares falls by more than chance gives in a thousand (chi-squared of 2 at
// 0.001 is 13.8), points that share a window counted once.
func (f *recoveryFit) better(two, one recovered) bool {
	free := f.points/two.overlap - float64(len(two.p))
	if free < 3 || two.chi2 <= 0 {
		return false
	}
	return (one.chi2/two.chi2-1)*free > 13.8
}
