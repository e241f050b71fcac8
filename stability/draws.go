package stability

import (
	"context"
	"math"
	"math/rand/v2"
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
