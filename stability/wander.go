package stability

import (
	"math"
	"sort"
)

// setMeans returns the means of time and frequency over consecutive intervals
// of the given width from the time from on; empty intervals are left out.
func setMeans(t, f []float64, from, width float64) (mt, mf []float64) {
	i := sort.SearchFloat64s(t, from)
	for i < len(t) {
		cell := math.Floor((t[i] - from) / width)
		ref, st, sf, n := f[i], 0.0, 0.0, 0.0
		t0 := t[i]
		for ; i < len(t) && math.Floor((t[i]-from)/width) == cell; i++ {
			st, sf, n = st+t[i]-t0, sf+f[i]-ref, n+1
		}
		mt, mf = append(mt, t0+st/n), append(mf, ref+sf/n)
	}
	return mt, mf
}

// setPeakToPeak returns the largest difference between two points no further
// apart than width, and the time of the later of the two; O(N) by monotone queues.
func setPeakToPeak(t, s []float64, width float64) (span, at float64) {
	var low, high setQueue
	for i := range t {
		low.push(s, i, -1)
		high.push(s, i, 1)
		low.drop(t, t[i]-width*(1+1e-12))
		high.drop(t, t[i]-width*(1+1e-12))
		if d := s[high.first()] - s[low.first()]; d > span {
			span, at = d, t[i]
		}
	}
	return span, at
}

// Wandering is the wander of a record.
type Wandering struct {
	Result
	FromS  float64 // settled from here on, s since power-on
	BandHz float64 // to this band, the smallest that was reached
	AtS    float64 // end of the window that moved most
}

// Wander returns the largest peak-to-peak movement in any 10 min of the
// readings f (Hz) after from (s, on the axis of t), of 10 s means, nothing
// removed. It is absent where less than 10 min follow, or no two readings of
// them lie within 10 min of each other. Readings at a glance, more than 2.5 min
// apart (fewer than five in 10 min), see only part of what happens between
// them: they give a bound, and none where they are all equal.
func Wander(t, f []float64, from float64) Wandering {
	w := Wandering{FromS: from}
	if len(t) == 0 || t[len(t)-1]-from < movingWindowS {
		w.Result = setAbsent(ReasonRecordTooShort)
		return w
	}
	mt, mf := setMeans(t, f, from, wanderAverageS)
	if h := MedianSpacing(mt); len(mt) < 2 || h > movingWindowS {
		w.Result = setAbsent(ReasonTooSparse)
		return w
	}
	span, at := setPeakToPeak(mt, mf, movingWindowS)
	w.Result, w.AtS = setValue(span), at
	if MedianSpacing(mt) > wanderSparseS {
		w.Result = setMoreThan(span, ReasonGlances)
		if span == 0 {
			w.Result = setAbsent(ReasonTooSparse)
		}
	}
	return w
}

// setSmallestReached returns the time from which the record is settled to the
// smallest band that was reached.
func setSmallestReached(all []Settling) (from, band float64, ok bool) {
	band = math.Inf(1)
	for _, s := range all {
		if s.BandHz >= band {
			continue
		}
		switch s.Kind {
		case "value":
			from, band, ok = s.Value, s.BandHz, true
		case "interval":
			from, band, ok = s.Hi, s.BandHz, true
		}
	}
	return from, band, ok
}
