package signal

import (
	"fmt"
	"math"
)

// settles is the last moment, counted from the step, at which the model is more
// than c from the final level; 0 if it never is.
func settles(p []float64, c, longest float64) float64 {
	curve := curveOf(p)
	out := func(t float64) bool { return math.Abs(curve.deviation(t)) > c }
	hi := longest
	for hi < 1e6 && out(hi) {
		hi *= 2
	}
	// Backwards in steps of a fiftieth of the fastest time constant, or of the
	// time itself, to the last crossing.
	t := hi
	for t > 0 && !out(t) {
		hi = t
		t -= math.Max(curve.fast/50, t/400)
	}
	if t <= 0 {
		if !out(0) {
			return 0
		}
		t = 0
	}
	for range 60 {
		if m := (t + hi) / 2; out(m) {
			t = m
		} else {
			hi = m
		}
	}
	return (t + hi) / 2
}

// peakAbove is how far the model rises above its final level, 0 if nowhere.
func peakAbove(p []float64, longest float64) float64 {
	curve := curveOf(p)
	best := math.Max(0, curve.deviation(0))
	for t := longest / 2000; t < longest; t *= 1.05 {
		best = math.Max(best, curve.deviation(t))
	}
	return best
}

func (f *recoveryFit) result(r recovered, step StepEvent, c float64) Recovery {
	slow := func(p []float64) float64 {
		t := 0.0
		for k := 3; k < len(p); k += 2 {
			t = math.Max(t, math.Exp(p[k]))
		}
		return t
	}
	time := func(p []float64) float64 { return settles(p, c, f.span) }
	peak := func(p []float64) float64 { return peakAbove(p, f.span) }
	final := func(p []float64) float64 { return p[0] }
	out := Recovery{CriterionDB: c, Terms: len(r.p)/2 - 1, ResidualDB: r.sigma}
	out.Seconds, out.U = time(r.p), r.spread(time)
	out.FinalDB, out.FinalU = r.p[0], r.spread(final)
	out.OvershootDB, out.OvershootU = peak(r.p), r.spread(peak)
	out.TauS, out.TauU = slow(r.p), r.spread(slow)
	curve := curveOf(r.p)
	out.StepDB = r.p[0] + curve.deviation(0) - step.BeforeDB
	out.U = math.Hypot(out.U, f.misfit(r, out.Seconds))
	if !f.resolves(r) && out.Seconds < f.window {
		f.unresolved(&out, step)
		return out
	}
	f.bounds(&out, step, c)
	return out
}

// unresolved makes the answer a bound where the way back is over within the
// detector's window, which also hides how high it began.
func (f *recoveryFit) unresolved(out *Recovery, step StepEvent) {
	out.Bound, out.AtMost = true, true
	out.Why = fmt.Sprintf("the detector averages over %.3g s and follows nothing faster", f.window)
	out.Seconds, out.U = f.window/2, step.TimeU
	out.TauS, out.TauU = 0, 0
	out.OvershootDB = math.Max(0, step.AfterDB-out.FinalDB)
	out.OvershootU = math.Hypot(out.ResidualDB, out.FinalU)
}

// misfit is the error in time that comes of the curve's passing beside the data
// where it meets the criterion: the mean of what is left there, beyond what
// scatter explains, over the slope.
func (f *recoveryFit) misfit(r recovered, at float64) float64 {
	if at <= 0 {
		return 0
	}
	var m moments
	points := 0.0
	curve := curveOf(r.p)
	for i, t := range f.t {
		if math.Abs(t-r.p[1]-at) < math.Max(0.2*at, f.window) {
			m.add(f.y[i] - f.model(&curve, t))
			points += f.k[i]
		}
	}
	if m.n < 2 {
		return 0
	}
	h := math.Max(1e-6, at*1e-3)
	slope := math.Abs(curve.deviation(at+h)-curve.deviation(at-h)) / (2 * h)
	chance := r.sigma * r.sigma * r.overlap / points
	excess := m.mean*m.mean - 2*chance
	if excess <= 0 || slope <= 0 {
		return 0
	}
	return math.Sqrt(excess) / slope
}

// bounds says where the time is only a bound.
func (f *recoveryFit) bounds(out *Recovery, step StepEvent, c float64) {
	switch {
	case out.Seconds > f.span || out.FinalU > c/2 || out.Seconds > 0 && out.U > out.Seconds && out.Seconds > f.span/3:
		out.Bound, out.Why = true, fmt.Sprintf("the level had not settled when the record ended, %.3g s after the step", f.span)
		out.Seconds = math.Min(out.Seconds, f.span)
	case out.Seconds == 0:
		out.U = step.TimeU
		out.Why = fmt.Sprintf("the level is never more than %.3g dB from the final one", c)
	case out.Seconds < f.window/2:
		out.Bound, out.AtMost = true, true
		out.Why = fmt.Sprintf("the detector averages over %.3g s and follows nothing faster", f.window)
		out.Seconds = math.Max(out.Seconds+2*out.U, f.window/2)
	}
}
