package quantity

import (
	"math"
	"sort"
)

// Share is one line of an uncertainty budget: a contribution and the fraction
// of the variance u² that it makes up.
type Share struct {
	Contribution
	Share float64
}

// Budget returns the contributions with their shares of the variance, largest
// first, equal ones by source id.
func (v Value) Budget() []Share {
	u, budget := v.U(), make([]Share, 0, len(v.parts))
	for _, p := range v.parts {
		r := p.C / u
		budget = append(budget, Share{Contribution: p, Share: r * r})
	}
	sort.SliceStable(budget, func(i, j int) bool {
		return math.Abs(budget[i].C) > math.Abs(budget[j].C)
	})
	return budget
}

// Effect is what one source does to both sides of a comparison and to what is
// computed from them: signed standard contributions, 0 where it has none.
type Effect struct {
	Source
	A, B, Result float64
}

// Common reports whether the source acts on both sides.
func (e Effect) Common() bool { return e.A != 0 && e.B != 0 }

// Cancelled reports whether a source common to both sides is gone from the
// result, or nearly so: what is left is less than a hundredth of what the
// larger side brought.
func (e Effect) Cancelled() bool {
	return e.Common() && math.Abs(e.Result) < 0.01*math.Max(math.Abs(e.A), math.Abs(e.B))
}

// Shared lists for every source of a or b its contribution to a, to b and to
// the difference a − b, those that act most on either side first.
func Shared(a, b Value) []Effect { return SharedIn(a, b, a.Sub(b)) }

// SharedIn is [Shared] for any result computed from a and b. In a ratio the
// contributions to the result are in another unit than those to the sides;
// [Effect.Cancelled] is then meaningless unless a, b and the result are all
// relative.
func SharedIn(a, b, result Value) []Effect {
	byID := map[string]*Effect{}
	collect := func(v Value, put func(*Effect, float64)) {
		for _, p := range v.parts {
			e := byID[p.ID]
			if e == nil {
				e = &Effect{Source: p.Source}
				byID[p.ID] = e
			}
			put(e, p.C)
		}
	}
	collect(a, func(e *Effect, c float64) { e.A = c })
	collect(b, func(e *Effect, c float64) { e.B = c })
	collect(result, func(e *Effect, c float64) { e.Result = c })
	return sortedEffects(byID)
}

func sortedEffects(byID map[string]*Effect) []Effect {
	effects := make([]Effect, 0, len(byID))
	for _, e := range byID {
		effects = append(effects, *e)
	}
	size := func(e Effect) float64 { return math.Max(math.Abs(e.A), math.Abs(e.B)) }
	sort.Slice(effects, func(i, j int) bool {
		if si, sj := size(effects[i]), size(effects[j]); si != sj {
			return si > sj
		}
		return effects[i].ID < effects[j].ID
	})
	return effects
}
