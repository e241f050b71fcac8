package stability

import (
	"context"
	"math"
	"sort"

	"setwright/quantity"
)

// ambientKnown is how well a coefficient with one lag may be trusted to describe
// what a change of ambient does while it goes on: common practice, no source.
const ambientKnown = 0.1

// ambientRounds is how often coefficient and jumps are found in turn.
const ambientRounds = 3

// Limits of the search for a change of ambient that was made on purpose.
const (
	ambientBeforeS = 1800.0 // stretch that a change is told from
	ambientLeastS  = 1200.0 // of record before it
	ambientDepartK = 1.0    // departure from the median of that stretch
)

// ambientPlan is what is known of a record in whose later part ambient was made
// to change.
type ambientPlan struct {
	ambient []float64 // °C at the readings
	changeS float64   // s since power-on
	fromS   float64   // settled from here on, before the change
	bandHz  float64   // to this band
	nominal float64   // Hz; 0: the mean of the readings
	lagS    float64
	effect  []float64 // Hz, what ambient makes of the readings; nil where not shown
}

// ambientPlanOf looks for a change of ambient that begins when the set has
// settled. A set is settled before such a change if it is by the rule for the
// whole record with the horizon put at the change: what ambient then does to the
// frequency is no lack of settling. It is nil where there is none.
func ambientPlanOf(s recSeries, ambient []float64, breaks []int, bands []float64) *ambientPlan {
	ambient, ok := tempcoFilled(s.t, ambient)
	if !ok || !(tempcoSpan(ambient) >= tempcoLeastK) {
		return nil
	}
	for i := 0; i < len(s.t); {
		i = ambientDeparts(s.t, ambient, i)
		if i < 0 {
			return nil
		}
		from, band, ok := settledBefore(s, breaks, i, bands)
		if ok && tempcoSpan(ambient[sort.SearchFloat64s(s.t, from):]) >= tempcoLeastK {
			return &ambientPlan{ambient: ambient, changeS: s.t[i], fromS: from, bandHz: band}
		}
		i = sort.SearchFloat64s(s.t, s.t[i]+ambientBeforeS)
	}
	return nil
}

// ambientDeparts returns the first reading from start on at which ambient (its
// median of five) has left the median of the half hour before; -1 for none.
func ambientDeparts(t, ambient []float64, start int) int {
	stride := 1 + len(t)/2000
	for i := max(start, 3); i+2 < len(t); i += stride {
		lo := sort.SearchFloat64s(t, t[i]-ambientBeforeS)
		if t[i]-t[0] < ambientLeastS || i-lo < 3 {
			continue
		}
		if math.Abs(smMedian(ambient, i, 2)-ambient[lo]) < ambientDepartK/2 {
			continue // quick look; the median is dear
		}
		before := recMedian(append([]float64(nil), ambient[lo:i]...))
		if math.Abs(smMedian(ambient, i, 2)-before) > ambientDepartK {
			return i
		}
	}
	return -1
}

// settledBefore returns the time from which the readings before reading end are
// settled to the smallest of the bands, by the rule for settling.
func settledBefore(s recSeries, breaks []int, end int, bands []float64) (from, band float64, ok bool) {
	t, f := s.t[:end], s.f[:end]
	n := sort.SearchInts(breaks, end)
	sm := Smooth(t, f, breaks[:n], 0)
	var all []Settling
	for _, b := range bands {
		all = append(all, SettlingTime(sm, f, breaks[:n], b, t[end-1], nil))
	}
	return setSmallestReached(all)
}

// fit finds the coefficient from readings f with the jumps taken out, and what
// ambient makes of each reading where the coefficient is shown to be there.
func (p *ambientPlan) fit(t, f []float64, nominal float64) TemperatureCoefficient {
	p.nominal = nominal
	out := Tempco(t, f, p.ambient, p.fromS, nominal)
	out.FromS, out.BandHz, out.ChangeS = p.fromS, p.bandHz, p.changeS
	p.effect = nil
	if out.Kind != quantity.KindValue || math.Abs(out.Value) < 3*out.U {
		return out
	}
	if nominal == 0 {
		nominal = setMean(f)
	}
	p.lagS, p.effect = out.LagS, tempcoLagged(t, p.ambient, out.LagS)
	first := p.effect[0]
	for i := range p.effect {
		p.effect[i] = nominal * out.Value * (p.effect[i] - first)
	}
	return out
}

// findJumpsBesideAmbient finds jumps in what ambient leaves, and the coefficient
// of ambient in what jumps leave, in turn; then the trend of the readings.
func (a *Analysis) findJumpsBesideAmbient(ctx context.Context, s recSeries, gaps []int, resolution float64, fit Fitter) error {
	p, left := a.ambient, make([]float64, len(s.f))
	for range ambientRounds {
		for i, f := range s.f {
			left[i] = f - p.effect[i]
		}
		before := a.Jumps
		if err := a.findJumps(ctx, recSeries{s.t, left, s.idx}, gaps, resolution, fit); err != nil {
			return err
		}
		a.Jumps = p.surely(a.Jumps, s.t)
		if a.level(s.f); jmpSame(before, a.Jumps) {
			break
		}
		effect := p.effect
		if p.fit(s.t, a.LevelledHz, p.nominal); p.effect == nil {
			p.effect = effect
			break
		}
	}
	if fit == nil {
		return nil
	}
	if a.Trend, a.NoTrend = fit(ctx, s.t, a.LevelledHz); a.NoTrend != nil {
		a.Trend = nil
	}
	return ctx.Err()
}

// surely returns the jumps that are more than what is not known of the effect of
// ambient while it changes: a tenth of its change within a lag either way.
func (p *ambientPlan) surely(jumps []Jump, t []float64) []Jump {
	var out []Jump
	for _, j := range jumps {
		lo, hi := sort.SearchFloat64s(t, j.TimeS-p.lagS), sort.SearchFloat64s(t, j.TimeS+p.lagS)
		if change := p.effect[min(hi, len(t)-1)] - p.effect[lo]; math.Abs(j.SizeHz) > ambientKnown*math.Abs(change) {
			out = append(out, j)
		}
	}
	return out
}
