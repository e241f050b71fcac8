package stability

import (
	"context"
	"math"
	"math/rand/v2"
	"sort"

	"setwright/quantity"
)

// setFigures are the figures that noise moves, as plain numbers.
type setFigures struct {
	closing, excursion, wander float64
	settle, usable             []float64
}

// setModel is a record as the draws see it: a smooth course with noise on it.
type setModel struct {
	t, base []float64
	plan    *smPlan
	noise   *setNoise
	bands   []float64
	horizon float64
	from    float64 // wander begins here; NaN: none
	smooth  []float64
}

// figures reads the figures off one realisation f.
func (m *setModel) figures(f []float64) setFigures {
	m.plan.apply(f, m.smooth)
	out := setFigures{closing: ClosingFrequency(m.t, f, m.horizon), wander: math.NaN()}
	out.excursion, _, _ = setRange(m.t, m.smooth, excursionFromS)
	moves := setMovement(m.t, m.smooth, movingWindowS)
	for _, band := range m.bands {
		e := setLastExit(m.t, m.smooth, out.closing, band)
		if math.IsNaN(e.time) {
			e.time = m.horizon
		}
		at, _ := moves.after(2 * band)
		out.settle, out.usable = append(out.settle, e.time), append(out.usable, at)
	}
	if !math.IsNaN(m.from) {
		mt, mf := setMeans(m.t, f, m.from, wanderAverageS)
		out.wander, _ = setPeakToPeak(mt, mf, movingWindowS)
	}
	return out
}

// course is the noise-free record: the trend with the jumps put back, else the
// smoothed readings.
func (a *Analysis) course() []float64 {
	base := append([]float64(nil), a.Smoothed.FrequencyHz...)
	if a.Trend == nil {
		return base
	}
	for i, t := range a.TimeS {
		base[i] = a.Trend.At(t) - (a.LevelledHz[i] - a.FrequencyHz[i])
	}
	return base
}

// noise estimates the noise: the residual from the trend, with its correlation;
// without a trend, white noise of the standard deviation that readings show
// against their neighbours; with few readings, what the resolution alone gives.
// Rounding to the resolution is its least (uniform: resolution/√12).
func (a *Analysis) noise(resolution float64) *setNoise {
	floor := resolution / math.Sqrt(12)
	n := len(a.TimeS)
	resid := make([]float64, n)
	if a.Trend != nil {
		for i, t := range a.TimeS {
			resid[i] = a.LevelledHz[i] - a.Trend.At(t)
		}
		return newSetNoise(resid, min(6, n-1), floor)
	}
	if n >= jumpFewest {
		floor = math.Max(floor, setNeighbourNoise(a.TimeS, a.LevelledHz))
	}
	z := newSetNoise(resid, 0, floor)
	if z.DoF = 0; n >= jumpFewest {
		z.DoF = 0.37 * float64(n) // efficiency of the median absolute deviation
	}
	return z
}

// setNeighbourNoise is the robust standard deviation of readings about the
// lines through their neighbours.
func setNeighbourNoise(t, f []float64) float64 {
	var d []float64
	for i := 1; i+1 < len(t); i++ {
		if t[i+1] == t[i-1] {
			continue
		}
		p := (t[i] - t[i-1]) / (t[i+1] - t[i-1])
		d = append(d, math.Abs(f[i]-(1-p)*f[i-1]-p*f[i+1])/math.Sqrt(1+p*p+(1-p)*(1-p)))
	}
	if len(d) == 0 {
		return 0
	}
	return 1.4826 * recMedian(d)
}

// model prepares the draws; a long record is thinned by averaging over no more
// than a tenth of the width of its smoothing.
func (a *Analysis) model(noise *setNoise, bands []float64) *setModel {
	m := &setModel{t: a.TimeS, base: a.course(), noise: noise, bands: bands, horizon: a.HorizonS, from: math.NaN()}
	if a.Wander.Given() {
		m.from = a.Wander.FromS
	}
	m.plan = newSmPlan(m.t, a.Breaks, a.shortest())
	m.smooth = make([]float64, len(m.t))
	return m
}

// uncertainties draws the noise and fills U, DoF and CI in.
func (a *Analysis) uncertainties(ctx context.Context, noise *setNoise, bands []float64, o Options) error {
	m := a.model(noise, bands)
	for i := range a.Smoothed.UHz {
		a.Smoothed.UHz[i] = noise.Sigma * smMedianGain * math.Sqrt(m.plan.variance(i, noise.Rho))
	}
	draws := o.Draws
	if draws == 0 {
		draws = max(60, min(400, 400*10000/len(m.t)))
	}
	truth := m.figures(m.base)
	all := make([]setFigures, 0, draws)
	f := make([]float64, len(m.t))
	for k := 0; k < draws && noise.Sigma > 0; k++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		noise.draw(rand.New(rand.NewPCG(o.Seed, uint64(k))), f)
		for i := range f {
			f[i] += m.base[i]
		}
		all = append(all, m.figures(f))
	}
	a.spread(truth, all)
	return nil
}

// spread turns the scatter of the draws into uncertainties.
func (a *Analysis) spread(truth setFigures, all []setFigures) {
	take := func(r *Result, skewed bool, of func(setFigures) float64) {
		setSpread(r, of(truth), all, skewed, of)
		r.DoF = a.NoiseDoF
	}
	take(&a.Closing, false, func(f setFigures) float64 { return f.closing })
	take(&a.Excursion, true, func(f setFigures) float64 { return f.excursion })
	take(&a.Wander.Result, false, func(f setFigures) float64 { return f.wander })
	for b := range a.Settling {
		take(&a.Settling[b].Result, true, func(f setFigures) float64 { return f.settle[b] })
		take(&a.Usable[b].Result, true, func(f setFigures) float64 { return f.usable[b] })
	}
}

// setSpread sets U to the standard deviation of the draws, and for figures that
// noise pushes one way CI to the pivotal interval: value − (draw − truth).
func setSpread(r *Result, truth float64, all []setFigures, skewed bool, of func(setFigures) float64) {
	if r.Kind != quantity.KindValue || len(all) < 2 {
		return
	}
	d := make([]float64, 0, len(all))
	mean := 0.0
	for _, f := range all {
		d = append(d, of(f)-truth)
		mean += (of(f) - truth) / float64(len(all))
	}
	sumSq := 0.0
	for _, x := range d {
		sumSq += (x - mean) * (x - mean)
	}
	r.U = math.Hypot(r.U, math.Sqrt(sumSq/float64(len(all)-1)))
	if !skewed || r.U == 0 {
		return
	}
	sort.Float64s(d)
	lo, hi := d[int(0.025*float64(len(d)-1)+0.5)], d[int(0.975*float64(len(d)-1)+0.5)]
	r.CI = &[2]float64{math.Max(0, r.Value-hi), r.Value - lo}
}

// smMedianGain is the loss of the median of five in front of the line: the
// standard deviation after both over that after the line alone, for white
// normal noise (from a simulation; see the test).
const smMedianGain = 1.08
