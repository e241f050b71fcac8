package stability

import (
	"math"
	"sort"

	"setwright/quantity"
)

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
		a.Settling[b].withinRecord(a.HorizonS)
		a.Usable[b].withinRecord(a.HorizonS)
	}
}

// withinRecord keeps the limits of a time within the record: by definition it
// lies between power-on and the horizon.
func (r *Result) withinRecord(horizon float64) {
	if r.CI != nil {
		r.CI = &[2]float64{math.Max(0, r.CI[0]), math.Min(horizon, r.CI[1])}
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
// divided by, what the draws show against the course they were laid on. Noise
// that pushes hard would leave the value itself outside; the interval is drawn
// out to it, for it is what the record shows.
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
	before := 1.96 * r.U // what is not noise: the place of a jump between two readings
	r.U = math.Hypot(r.U, math.Sqrt(sumSq/float64(len(all)-1)))
	if skew == setEven || r.U == 0 {
		return
	}
	sort.Float64s(d)
	lo, hi := setTail(d, 0.025), setTail(d, 0.975)
	if skew == setUnevenTime && truth > 0 && lo > 0 {
		lo, hi = r.Value*truth/hi, r.Value*truth/lo
	} else {
		lo, hi = math.Max(0, r.Value-(hi-truth)), r.Value-(lo-truth)
	}
	r.CI = &[2]float64{math.Min(lo, r.Value), math.Max(hi, r.Value)}
	r.WidenCI(before)
}

// WidenCI draws both limits of CI out by more, in the figure's unit, which is
// independent of what made them: as squares add.
func (r *Result) WidenCI(more float64) {
	if r.CI == nil || more <= 0 {
		return
	}
	r.CI = &[2]float64{r.Value - math.Hypot(r.Value-r.CI[0], more), r.Value + math.Hypot(r.CI[1]-r.Value, more)}
}

// setTail is the quantile p of sorted values, by the rank p·(n+1), the next
// one outwards where that is none.
func setTail(sorted []float64, p float64) float64 {
	n := len(sorted)
	rank := p * float64(n+1)
	if p < 0.5 {
		rank = math.Floor(rank)
	} else {
		rank = math.Ceil(rank)
	}
	return sorted[min(max(int(rank)-1, 0), n-1)]
}
