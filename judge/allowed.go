package judge

import (
	"math"

	"setwright/quantity"
)

// entry is one observation as the computations see it: the values it allows
// from lo to hi (equal for a value, one infinite for a bound), where it is put
// when a single number is wanted, and its signed contributions.
type entry struct {
	Observation
	lo, hi, at float64
	count      float64 // of a count; at is then the rate
	parts      []quantity.Contribution
}

func (e entry) bounded() bool { return math.IsInf(e.lo, -1) || math.IsInf(e.hi, 1) }
func (e entry) exact() bool   { return e.lo == e.hi }

// allowed returns the entry of an observation; ok is false for what holds no
// number: a choice, an undefined value, an unknown kind.
func allowed(o Observation) (e entry, ok bool) {
	e.Observation = o
	x := o.Outcome
	e.at, e.parts = x.Value.Estimate(), x.Value.Contributions()
	e.lo, e.hi = e.at, e.at
	switch x.Kind {
	case quantity.KindValue:
		e.parts = append(e.parts, uneven(o)...)
	case quantity.KindCount:
		if e.at < 0 {
			return e, false
		}
		e.count, e.at = e.at, e.at/e.exposure()
		e.lo, e.hi = e.at, e.at
		e.parts = append(e.parts, counting(e))
	case quantity.KindInterval:
		e.lo, e.hi, e.at = x.Lo, x.Hi, x.Lo+(x.Hi-x.Lo)/2
	case quantity.KindBound:
		switch x.Bound {
		case quantity.LessThan:
			e.lo = math.Inf(-1)
		case quantity.MoreThan:
			e.hi = math.Inf(1)
		default:
			return e, false
		}
	default:
		return e, false
	}
	u := x.Value.U()
	return e, finite(e.at) && finite(u) && e.lo <= e.hi
}

// uneven returns what an uneven confidence interval of a value says beyond its
// contributions, as noise of the run: half the width over the normal quantile.
func uneven(o Observation) []quantity.Contribution {
	ci, level := o.Outcome.CI, o.Outcome.Level
	if ci == nil || !(level > 0 && level < 1) {
		return nil
	}
	half := (ci[1] - ci[0]) / 2 / quantile((1+level)/2, math.Inf(1))
	u := o.Outcome.Value.U()
	if !(half > u) || !finite(half) {
		return nil
	}
	key := quantity.RunSource(o.Run, "uneven interval")
	return []quantity.Contribution{{Source: key.Source("interval of run "+o.Run, 0), C: math.Sqrt(half*half - u*u)}}
}

// counting is what chance events add to a count, √k (that of one for none), as
// noise of the run: so counts that agree by luck are not taken as certain.
func counting(e entry) quantity.Contribution {
	key := quantity.RunSource(e.Run, "counting")
	return quantity.Contribution{Source: key.Source("counting in run "+e.Run, 0), C: math.Sqrt(math.Max(e.count, 1)) / e.exposure()}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// numbers returns the places of the entries.
func numbers(es []entry) []float64 {
	x := make([]float64, len(es))
	for i, e := range es {
		x[i] = e.at
	}
	return x
}

func hasBounds(es []entry) bool {
	for _, e := range es {
		if e.bounded() {
			return true
		}
	}
	return false
}
