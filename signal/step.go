package signal

import (
	"math"
	"sort"
)

// StepEvent is a sudden change of level.
type StepEvent struct {
	TimeS, TimeU      float64 // of the step itself, detector lag taken off
	BeforeDB, AfterDB float64 // level in dBFS before it, and the extreme right after it
}

// StepOptions say what counts as a step; zero values are sensible.
type StepOptions struct {
	MinDB float64 // smallest change within one window, 0: 3 dB
	Sigma float64 // and over the scatter of such changes, 0: 6 times
}

// FindSteps finds the sudden changes in an envelope. The moving rms of width W
// turns a step of power at t into a ramp of power from t − W/2 to t + W/2, so
// the step is where the power passes half-way; a level that a gain control works
// down again at once is allowed for.
func FindSteps(env *LevelTrack, o StepOptions) []StepEvent {
	if o.MinDB <= 0 {
		o.MinDB = 3
	}
	if o.Sigma <= 0 {
		o.Sigma = 6
	}
	y := levelsDB(env.Power)
	n := windowSteps(env)
	d := stepDifferences(env, y, n)
	limit := math.Max(o.MinDB, o.Sigma*robustSpread(d))
	var out []StepEvent
	for i := 0; i < len(d); i++ {
		if math.Abs(d[i]) < limit || !stepPeak(d, i, n) || !stepSudden(d, i, n) {
			continue
		}
		if e := stepAt(env, y, i, n, d[i] > 0); !settlesBack(out, e, d[i], env.WindowS) {
			out = append(out, e)
		}
		i += n
	}
	return out
}

// levelsDB turns powers into dBFS (a full-scale sine, power ½, is 0), not below
// −200.
func levelsDB(p []float64) []float64 {
	y := make([]float64, len(p))
	for i, v := range p {
		y[i] = math.Max(-200, 10*math.Log10(2*v))
		if math.IsNaN(y[i]) {
			y[i] = -200
		}
	}
	return y
}

// windowSteps is how many points of the envelope one window spans.
func windowSteps(env *LevelTrack) int {
	if !(env.StepS > 0) {
		return 1
	}
	return max(1, int(math.Round(env.WindowS/env.StepS)))
}

// stepDifferences is, at each point, the change over one window and a step about
// it; 0 where the points do not follow one another.
func stepDifferences(env *LevelTrack, y []float64, n int) []float64 {
	d := make([]float64, len(y))
	half := (n + 1) / 2
	for i := half; i+half < len(y); i++ {
		if env.TimeS[i+half]-env.TimeS[i-half] < env.StepS*(float64(2*half)+0.5) {
			d[i] = y[i+half] - y[i-half]
		}
	}
	return d
}

// robustSpread is the standard deviation by the median of the sizes, which the
// steps themselves do not raise.
func robustSpread(d []float64) float64 {
	if len(d) == 0 {
		return 0
	}
	a := make([]float64, len(d))
	for i, v := range d {
		a[i] = math.Abs(v)
	}
	sort.Float64s(a)
	return a[len(a)/2] / 0.6745
}

// stepPeak says that no change of the same sign within a window and a half is
// greater.
func stepPeak(d []float64, i, n int) bool {
	reach := n + n/2 + 1
	for j := max(0, i-reach); j <= min(len(d)-1, i+reach); j++ {
		if d[j]*d[i] > 0 && (math.Abs(d[j]) > math.Abs(d[i]) || d[j] == d[i] && j < i) {
			return false
		}
	}
	return true
}

// stepSudden says that the level changes less than half as much in the windows
// next to this one, the same way: a settling curve goes on, a step does not.
func stepSudden(d []float64, i, n int) bool {
	apart := 2 * ((n + 1) / 2)
	for _, j := range []int{i - apart, i + apart} {
		if j >= 0 && j < len(d) && d[j]*d[i] > 0 && math.Abs(d[j]) > 0.5*math.Abs(d[i]) {
			return false
		}
	}
	return true
}

// settlesBack says that a change is the way back of the step just before: within
// four windows, the other way, and smaller.
func settlesBack(found []StepEvent, e StepEvent, change, windowS float64) bool {
	if len(found) == 0 {
		return false
	}
	was := found[len(found)-1]
	before := was.AfterDB - was.BeforeDB
	return e.TimeS-was.TimeS < 4*windowS && before*change < 0 && math.Abs(change) < math.Abs(before)
}

// stepAt measures the step about point i.
func stepAt(env *LevelTrack, y []float64, i, n int, up bool) StepEvent {
	from, to := max(0, i-12*n), max(0, i-n)
	before, spread := meanSpread(y[from:max(to, from+1)])
	after := i
	for j := i; j <= min(len(y)-1, i+2*n); j++ {
		if up == (y[j] > y[after]) && y[j] != y[after] {
			after = j
		}
	}
	e := StepEvent{BeforeDB: before, AfterDB: y[after]}
	half := stepHalf(env, y, before, after, n, up)
	e.TimeS = env.TimeS[i]
	for j := max(1, i-n-1); j <= after; j++ {
		if (env.Power[j] >= half) == up {
			a, b := env.Power[j-1], env.Power[j]
			f := 0.5
			if a != b {
				f = math.Max(0, math.Min(1, (half-a)/(b-a)))
			}
			e.TimeS = env.TimeS[j-1] + f*(env.TimeS[j]-env.TimeS[j-1])
			break
		}
	}
	// The half-way point moves by the relative error of the louder side's power
	// times half the ramp.
	relative := spread / 4.343
	if !up { // the louder side is the one averaged over twelve windows
		relative /= math.Sqrt(6)
	}
	e.TimeU = math.Hypot(relative*env.WindowS/2, env.StepS/math.Sqrt(12))
	return e
}

// stepHalf is the power that the moving rms shows when its middle is at the step:
// half of it stands before, half after. A level that falls off again by d dB a
// window shows in its greatest point the mean over a whole window, and at the
// step that over its first half only.
func stepHalf(env *LevelTrack, y []float64, before float64, after, n int, up bool) float64 {
	p1, p2 := 0.5*math.Pow(10, before/10), env.Power[after]
	if up && after+n < len(y) {
		if d := math.Min(20, y[after]-y[after+n]); d > 0.1 {
			p2 *= droop(d/2) / droop(d)
		}
	}
	return (p1 + p2) / 2
}

// droop is the mean over a window of a power that falls by d dB in it, over that
// at its start.
func droop(d float64) float64 {
	x := d / 10 * math.Ln10
	return (1 - math.Exp(-x)) / x
}

func meanSpread(y []float64) (mean, spread float64) {
	var m moments
	for _, v := range y {
		m.add(v)
	}
	return m.mean, math.Sqrt(m.variance())
}
