package stability

import (
	"fmt"
	"math"
)

// Lengths of the closing window of a residual drift, s.
const (
	ClosingWindow      = 1800.0
	LeastSettledLength = 900.0
)

// ResidualDriftOptions chooses the closing window.
type ResidualDriftOptions struct {
	WindowS  float64   // length of the closing window; 0: ClosingWindow
	UsableS  float64   // usable_after: the window starts no earlier
	HorizonS float64   // end of the window; 0: the last reading
	Steps    []Step    // jumps to take out
	Weights  []float64 // those of the warm-up fit, or nil: readings below a quarter (8 robust standard deviations off) are left out
}

// ResidualDrift is the slope over the closing window.
type ResidualDrift struct {
	HzPerHour, UHzPerHour         float64 // with the steps taken out
	DoF                           float64
	WithStepsHzPerHour, UWithHzPH float64 // the same with the steps left in, and its uncertainty by the noise alone
	UNoiseHzPerHour               float64 // part of UHzPerHour that comes from the noise
	UStepsHzPerHour               float64 // part that comes from the sizes of the steps
	FromS, ToS                    float64 // first and last reading of the window
	Readings                      int
	Steps                         []Step // those within the window
	Noise                         NoiseKind
}

// Interval returns the interval at the given level (0.95) of HzPerHour.
func (r ResidualDrift) Interval(level float64) (lo, hi float64) {
	h := r.UHzPerHour * tQuantile(level, r.DoF)
	return r.HzPerHour - h, r.HzPerHour + h
}

// FitResidualDrift returns the least-squares slope of the readings f at times t (s) over the
// closing window, in hertz an hour, with the steps taken out. Its uncertainty
// is that of this weighted sum of readings under the noise of the whole record
// (the Noise of the warm-up fit): a half hour cannot tell drift from the slow
// part of flicker or of a random walk by itself, four half hours can tell how
// large such slopes are by chance. A Noise without models is replaced by one
// of the window's own residual.
//
// The error is a *NotGivenError of kind ErrSettledTooShort for a window under
// LeastSettledLength, of ErrTooFewReadings under 3 readings.
func FitResidualDrift(t, f []float64, noise Noise, opt ResidualDriftOptions) (ResidualDrift, error) {
	if len(t) != len(f) || len(t) == 0 {
		return ResidualDrift{}, &NotGivenError{"residual drift", fmt.Sprintf("%d frequencies for %d times", len(f), len(t)), "one for each", ErrBadReadings}
	}
	win, err := resWindow(t, f, opt)
	if err != nil {
		return ResidualDrift{}, err
	}
	weights := resSlopeWeights(win.t)
	r := ResidualDrift{FromS: win.t[0], ToS: win.t[len(win.t)-1], Readings: len(win.t), Steps: win.steps}
	r.WithStepsHzPerHour = 3600 * wuDot(weights, win.raw)
	r.HzPerHour = 3600 * wuDot(weights, win.y)
	if len(noise.Models) == 0 {
		noise = win.noise()
	}
	noise = noise.without(func(v float64) float64 { return math.Max(0, math.Min(v, r.ToS)-r.FromS) })
	u, dof := noise.U(win.t, weights)
	r.UNoiseHzPerHour, r.UWithHzPH = 3600*u, 3600*u
	r.UStepsHzPerHour = 3600 * win.stepsUncertainty(weights)
	r.UHzPerHour = math.Hypot(r.UNoiseHzPerHour, r.UStepsHzPerHour)
	// Welch-Satterthwaite (JCGM 100 G.4) with the steps' sizes taken as known well.
	r.DoF = dof
	if r.UNoiseHzPerHour > 0 {
		r.DoF = dof * math.Pow(r.UHzPerHour/r.UNoiseHzPerHour, 4)
	}
	r.Noise = noise.Kind()
	return r, nil
}

// resClosing is the closing window.
type resClosing struct {
	t, raw, y []float64 // y with the steps taken out, both less raw's middle
	steps     []Step
}

func resWindow(t, f []float64, opt ResidualDriftOptions) (resClosing, error) {
	window, end := opt.WindowS, opt.HorizonS
	if window == 0 {
		window = ClosingWindow
	}
	if end == 0 {
		end = t[len(t)-1]
	}
	from := math.Max(math.Max(end-window, opt.UsableS), t[0])
	if end-from < LeastSettledLength {
		return resClosing{}, &NotGivenError{"residual drift", fmt.Sprintf("%.3g min of settled record", math.Max(0, end-from)/60), "at least 15 min", ErrSettledTooShort}
	}
	var c resClosing
	ref := wuMedian(f)
	for i, v := range t {
		if v < from || v > end || opt.Weights != nil && opt.Weights[i] < 0.25 {
			continue
		}
		c.t = append(c.t, v)
		c.raw = append(c.raw, f[i]-ref)
		c.y = append(c.y, f[i]-ref-stepsBefore(opt.Steps, v))
	}
	if len(c.t) < 3 || c.t[0] == c.t[len(c.t)-1] {
		return resClosing{}, &NotGivenError{"residual drift", fmt.Sprintf("%d readings in the closing window", len(c.t)), "at least 3", ErrTooFewReadings}
	}
	for _, s := range opt.Steps {
		if s.AtS > c.t[0] && s.AtS <= c.t[len(c.t)-1] {
			c.steps = append(c.steps, s)
		}
	}
	return c, nil
}

// resSlopeWeights returns w with slope = Σ w·y, the least-squares line's.
func resSlopeWeights(t []float64) []float64 {
	mean := wuGroup(t, len(t))[0]
	sum := 0.0
	w := make([]float64, len(t))
	for i, v := range t {
		w[i] = v - mean
		sum += w[i] * w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// stepsUncertainty is that of the slope from the sizes of the steps.
func (c *resClosing) stepsUncertainty(weights []float64) float64 {
	u := 0.0
	for _, s := range c.steps {
		lever := 0.0
		for i, t := range c.t {
			if t >= s.AtS {
				lever += weights[i]
			}
		}
		u = math.Hypot(u, lever*s.UHz)
	}
	return u
}

// noise models the window's own residual off a line.
func (c *resClosing) noise() Noise {
	w := resSlopeWeights(c.t)
	slope := wuDot(w, c.y)
	res, line := make([]float64, len(c.t)), make([]float64, len(c.t))
	for i, t := range c.t {
		line[i] = t - c.t[0]
		res[i] = c.y[i] - slope*line[i]
	}
	mean := wuGroup(res, len(res))[0]
	for i := range res {
		res[i] -= mean
	}
	return FitNoise(c.t, res, nil, [][]float64{line})
}
