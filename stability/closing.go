package stability

import "sort"

// closingWindowS is the part before the horizon whose median closes a record.
const closingWindowS = 300.0

// setClosing returns the readings lo to hi-1 that make the closing frequency:
// those of the last 5 min before the horizon, or the last 3 where fewer fall in
// them. t is sorted and ends at or before the horizon.
func setClosing(t []float64, horizon float64) (lo, hi int) {
	hi = len(t)
	lo = sort.Search(hi, func(i int) bool { return t[i] >= horizon-closingWindowS })
	return max(0, min(lo, hi-3)), hi
}

// ClosingFrequency returns the median of the readings f (Hz) of the last 5 min
// before the horizon (s, on the axis of t), or of the last 3 readings where
// fewer fall in them. t never decreases; later readings are left out. It is NaN
// without readings.
func ClosingFrequency(t, f []float64, horizon float64) float64 {
	n := sort.Search(len(t), func(i int) bool { return t[i] > horizon })
	lo, hi := setClosing(t[:n], horizon)
	return recMedian(append([]float64(nil), f[lo:hi]...))
}
