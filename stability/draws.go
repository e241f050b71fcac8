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
	outside, inside            []float64 // for each band, the last point outside and the next
	unsettled                  []bool    // for each band, whether too little record follows
}

// setModel is a record as the draws see it: a smooth course with noise on it.
type setModel struct {
	t, base []float64
	plan    *smPlan
	noise   Noise
	group   int // readings in each point
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
		out.outside = append(out.outside, m.t[max(e.last, 0)])
		out.inside = append(out.inside, m.t[min(e.last+1, len(m.t)-1)])
		out.unsettled = append(out.unsettled, m.horizon-e.time < math.Max(settleFewestS, settleFraction*e.time))
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

// noise estimates the noise: that of the trend where it knows its own, else from
// the residual off the trend; without a trend, white noise of the standard
// deviation that readings show against their neighbours; with few readings,
// what the resolution alone gives. A reading scatters at least by its rounding
// (uniform: resolution/√12). sigma is the standard deviation of one reading.
func (a *Analysis) noise(resolution float64) (n Noise, sigma float64) {
	floor := resolution / math.Sqrt(12)
	count := len(a.TimeS)
	if a.Trend != nil {
		resid := make([]float64, count)
		sumSq := 0.0
		for i, t := range a.TimeS {
			resid[i] = a.LevelledHz[i] - a.Trend.At(t)
			sumSq += resid[i] * resid[i]
		}
		if known, ok := a.Trend.(interface{ ResidualNoise() Noise }); ok {
			n = known.ResidualNoise()
		} else {
			n = FitNoise(a.TimeS, resid, nil, nil)
		}
		sigma = math.Sqrt(sumSq / float64(max(1, count-6)))
	} else if count >= jumpFewest {
		sigma = setNeighbourNoise(a.TimeS, a.LevelledHz)
	}
	if len(n.Models) == 0 || sigma < floor {
		sigma = math.Max(sigma, floor)
		white := NoiseModel{Kind: NoiseWhite, Weight: 1, WhiteVar: sigma * sigma, DoF: math.Inf(1)}
		if count >= jumpFewest {
			white.DoF = 0.37 * float64(count) // efficiency of the median absolute deviation
		}
		n = Noise{Models: []NoiseModel{white}, StartS: a.TimeS[0], EndS: a.TimeS[count-1]}
	}
	return n, sigma
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

// model prepares the draws. A long record is thinned by averaging over no more
// than a tenth of the width of its smoothing.
func (a *Analysis) model(noise Noise, bands []float64) *setModel {
	g := a.thinning()
	m := &setModel{noise: noise, bands: bands, horizon: a.HorizonS, from: math.NaN(), group: g}
	if a.Wander.Given() {
		m.from = a.Wander.FromS
	}
	var breaks []int
	base := a.course()
	start := 0
	for _, end := range append(append([]int(nil), a.Breaks...), len(base)) {
		if start > 0 {
			breaks = append(breaks, len(m.t))
		}
		for i := start; i < end; i += g {
			j := min(i+g, end)
			m.t, m.base = append(m.t, setMean(a.TimeS[i:j])), append(m.base, setMean(base[i:j]))
		}
		start = end
	}
	m.plan = newSmPlan(m.t, breaks, a.shortest())
	m.smooth = make([]float64, len(m.t))
	return m
}

// thinning is the number of readings averaged into one for the draws.
func (a *Analysis) thinning() int {
	width := smoothWidthS
	if tau := a.shortest(); tau > 0 {
		width = math.Min(width, tau/10)
	}
	h := MedianSpacing(a.TimeS)
	if len(a.TimeS) < 5000 || h <= 0 {
		return 1
	}
	return max(1, int(width/10/h))
}

// uncertainties draws the noise and fills U, DoF and CI in.
func (a *Analysis) uncertainties(ctx context.Context, noise Noise, bands []float64, o Options) error {
	m := a.model(noise, bands)
	draws := o.Draws
	if draws == 0 {
		draws = max(60, min(400, 400*10000/len(m.t)))
	}
	truth := m.figures(m.base)
	all := make([]setFigures, 0, draws)
	f := make([]float64, len(m.t))
	for k := 0; k < draws && a.NoiseHz > 0; k++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		copy(f, m.base)
		m.noise.addDraw(rand.New(rand.NewPCG(o.Seed, uint64(k))), m.t, m.group, f)
		all = append(all, m.figures(f))
	}
	a.spread(truth, all)
	return nil
}

// smoothedUncertainty fills in that of every smoothed point.
func (a *Analysis) smoothedUncertainty(noise Noise) {
	white, parts := noise.average()
	var slow []noisePart
	for _, p := range parts {
		if p.TauS <= noise.EndS-noise.StartS {
			slow = append(slow, p)
		}
	}
	plan := newSmPlan(a.TimeS, a.Breaks, a.shortest())
	for i := range a.Smoothed.UHz {
		a.Smoothed.UHz[i] = plan.uncertainty(i, white, slow)
	}
}

// addDraw adds one realisation of the noise to f, each of whose values is the
// mean of group readings about time t. The model is drawn by its weight and its
// scale by its degrees of freedom, so that what is not known of the noise is in
// the scatter of the draws.
func (n Noise) addDraw(rng *rand.Rand, t []float64, group int, f []float64) {
	m := n.drawModel(rng.Float64())
	scale := 1.0
	if m.DoF > 0 && m.DoF < 1e6 { // χ²/dof after Wilson and Hilferty (1931)
		v := 2 / (9 * m.DoF)
		scale = math.Pow(math.Max(0.1, 1-v+rng.NormFloat64()*math.Sqrt(v)), -1.5)
	}
	white := scale * math.Sqrt(m.WhiteVar/float64(group))
	for i := range f {
		f[i] += white * rng.NormFloat64()
	}
	for _, p := range m.parts {
		sd := scale * math.Sqrt(p.Var)
		x, last := rng.NormFloat64(), n.StartS
		start := 0.0
		if p.TauS > n.EndS-n.StartS { // remembers for longer than the record: counted from its start
			start = x
		}
		keep, fresh, step := 1.0, 0.0, 0.0
		for i := range f {
			if dt := math.Abs(t[i] - last); dt != step {
				step, keep = dt, math.Exp(-dt/p.TauS)
				fresh = math.Sqrt(-math.Expm1(-2 * dt / p.TauS))
			}
			last = t[i]
			x = keep*x + fresh*rng.NormFloat64()
			f[i] += sd * (x - start)
		}
	}
}

// drawModel returns the model in which p, from 0 to 1, falls by weight.
func (n Noise) drawModel(p float64) NoiseModel {
	for _, m := range n.Models {
		if p -= m.Weight; p < 0 {
			return m
		}
	}
	return n.heaviest()
}

// spread turns the scatter of the draws into uncertainties.
func (a *Analysis) spread(truth setFigures, all []setFigures) {
	take := func(r *Result, skew setSkew, of func(setFigures) float64) {
		setSpread(r, of(truth), all, skew, of)
		r.DoF = a.NoiseDoF
	}
	take(&a.Closing, setEven, func(f setFigures) float64 { return f.closing })
	take(&a.Excursion, setUneven, func(f setFigures) float64 { return f.excursion })
	take(&a.Wander.Result, setEven, func(f setFigures) float64 { return f.wander })
	for b := range a.Settling {
		take(&a.Settling[b].Result, setUnevenTime, func(f setFigures) float64 { return f.settle[b] })
		take(&a.Usable[b].Result, setUnevenTime, func(f setFigures) float64 { return f.usable[b] })
		a.Settling[b].around(all, b)
	}
}

// around says in how many draws the record would not be called settled, and how
// far noise may move the ends of an interval.
func (s *Settling) around(all []setFigures, b int) {
	var lo, hi []float64
	unsettled := 0.0
	for _, f := range all {
		lo, hi = append(lo, f.outside[b]), append(hi, f.inside[b])
		if f.unsettled[b] {
			unsettled++
		}
	}
	if len(all) == 0 {
		return
	}
	s.UnsettledShare = unsettled / float64(len(all))
	if s.Kind == quantity.KindInterval && s.Lo > 0 {
		sort.Float64s(lo)
		sort.Float64s(hi)
		s.CI = &[2]float64{math.Min(s.Lo, setTail(lo, 0.025)), math.Max(s.Hi, setTail(hi, 0.975))}
	}
}

// setSkew says how noise pushes a figure.
type setSkew int

const (
	setEven       setSkew = iota // both ways alike: U says it all
	setUneven                    // one way, by so many Hz
	setUnevenTime                // one way, by a factor of the time
)

// setSpread sets U to the standard deviation of the draws, and for figures that
// noise pushes one way CI to the pivotal interval: the value less, or for times
// divided by, what the draws show against the course they were laid on.
func setSpread(r *Result, truth float64, all []setFigures, skew setSkew, of func(setFigures) float64) {
	if r.Kind != quantity.KindValue || len(all) < 2 {
		return
	}
	d := make([]float64, len(all))
	for i, f := range all {
		d[i] = of(f)
	}
	mean, sumSq := setMean(d), 0.0
	for _, x := range d {
		sumSq += (x - mean) * (x - mean)
	}
	r.U = math.Hypot(r.U, math.Sqrt(sumSq/float64(len(all)-1)))
	if skew == setEven || r.U == 0 {
		return
	}
	sort.Float64s(d)
	lo, hi := setTail(d, 0.025), setTail(d, 0.975)
	if skew == setUnevenTime && truth > 0 && lo > 0 {
		r.CI = &[2]float64{r.Value * truth / hi, r.Value * truth / lo}
		return
	}
	r.CI = &[2]float64{math.Max(0, r.Value-(hi-truth)), math.Max(0, r.Value-(lo-truth))}
}

// setTail is the quantile p of sorted values, to the nearest one.
func setTail(sorted []float64, p float64) float64 {
	return sorted[int(p*float64(len(sorted)-1)+0.5)]
}
