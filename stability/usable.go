package stability

import (
	"math"
	"sort"
)

// Limits of usable_after and wander.
const (
	movingWindowS  = 600.0  // 10 min
	usableRecordS  = 1200.0 // record needed after it
	wanderAverageS = 10.0
	wanderSparseS  = 150.0 // readings further apart see only part of the movement in 10 min
)

// setWindows holds, for windows of one width that begin at each start, the
// range of a piecewise linear curve within them.
type setWindows struct{ start, span []float64 }

// setMovement returns the range of the curve s (straight between the points t)
// within windows of the given width lying wholly in the record: those that
// begin or end at a point, in order of their start. Between two starts next to each
// other the range is convex, so no window in between moves by more than both.
// Monotone queues make it O(N).
func setMovement(t, s []float64, width float64) setWindows {
	var w setWindows
	n := len(t)
	if n < 2 || t[n-1]-t[0] < width {
		return w
	}
	w.start, w.span = make([]float64, 0, 2*n), make([]float64, 0, 2*n)
	var low, high setQueue
	i, j, next := 0, 0, 0 // next start at a point, next end at a point, next point to enter the queues
	for j < n && t[j] < t[0]+width {
		j++
	}
	for i < n && t[i]+width <= t[n-1] || j < n {
		x := math.Inf(1)
		if i < n && t[i]+width <= t[n-1] {
			x = t[i]
		}
		if j < n {
			x = math.Min(x, math.Max(t[j]-width, t[0]))
		}
		for i < n && t[i] <= x {
			i++
		}
		for j < n && math.Max(t[j]-width, t[0]) <= x {
			j++
		}
		end := math.Min(x+width, t[n-1])
		for ; next < n && t[next] <= end; next++ {
			low.push(s, next, -1)
			high.push(s, next, 1)
		}
		low.drop(t, x)
		high.drop(t, x)
		left, right := setBefore(t, s, i, x), setBefore(t, s, next, end)
		lo, hi := math.Min(left, right), math.Max(left, right)
		if !low.empty() {
			lo = math.Min(lo, s[low.first()])
			hi = math.Max(hi, s[high.first()])
		}
		w.start, w.span = append(w.start, x), append(w.span, hi-lo)
	}
	return w
}

// setBefore is the curve at x, k being the first point later than x.
func setBefore(t, s []float64, k int, x float64) float64 {
	switch {
	case k == 0:
		return s[0]
	case k == len(t):
		return s[k-1]
	}
	return s[k-1] + (s[k]-s[k-1])*(x-t[k-1])/(t[k]-t[k-1])
}

// setLinear is the curve through the points at time x, which lies among them.
func setLinear(t, s []float64, x float64) float64 {
	k := sort.SearchFloat64s(t, x)
	if k == 0 || k < len(t) && t[k] == x {
		return s[k]
	}
	if k == len(t) {
		return s[k-1]
	}
	return s[k-1] + (s[k]-s[k-1])*(x-t[k-1])/(t[k]-t[k-1])
}

// setQueue is a monotone queue of indices: its first is the extreme of the window.
type setQueue struct {
	at   []int
	head int
}

func (q *setQueue) empty() bool { return q.head == len(q.at) }
func (q *setQueue) first() int  { return q.at[q.head] }

// push adds point i; sign 1 keeps the largest first, -1 the smallest.
func (q *setQueue) push(s []float64, i int, sign float64) {
	for len(q.at) > q.head && sign*s[q.at[len(q.at)-1]] <= sign*s[i] {
		q.at = q.at[:len(q.at)-1]
	}
	q.at = append(q.at, i)
}

// drop forgets points before x.
func (q *setQueue) drop(t []float64, x float64) {
	for !q.empty() && t[q.first()] < x {
		q.head++
	}
}

// after returns the latest time at which a window begins that moves by more
// than most: between the last such start and the next, by a straight line.
// ok is false where no window moves so far.
func (w setWindows) after(most float64) (at float64, ok bool) {
	for k := len(w.start) - 1; k >= 0; k-- {
		if w.span[k] <= most {
			continue
		}
		if k == len(w.start)-1 {
			return w.start[k], true
		}
		part := (w.span[k] - most) / (w.span[k] - w.span[k+1])
		return w.start[k] + part*(w.start[k+1]-w.start[k]), true
	}
	return 0, false
}

// Usable is the time after which a set stays put for 10 min at a time.
type Usable struct {
	Result
	BandHz    float64
	ByLetterS float64 // whether or not enough record follows; 0 where no window moves too far
}

// UsableAfter returns the earliest time (s since power-on) after which no 10 min
// window of the smoothed record moves by more than the full width of ±band. It
// is a bound where less than 20 min of record follow, and then says how late a
// window still moved too far; an interval where the readings are too sparse to
// know the course between them.
func UsableAfter(s Smoothed, band float64) Usable {
	return setUsable(s, nil, setMovement(s.TimeS, s.FrequencyHz, movingWindowS), band)
}

// setUsable is UsableAfter with the windows given; breaks are indices after gaps
// or jumps, between whose readings nobody knows when it happened.
func setUsable(s Smoothed, breaks []int, w setWindows, band float64) Usable {
	at, moved := w.after(2 * band)
	u := Usable{BandHz: band, ByLetterS: at}
	lo, hi := at, at
	switch {
	case !moved:
		lo, hi = 0, s.TimeS[0]
	case s.Sparse():
		lo, hi = setAround(s.TimeS, at)
	}
	if s.Sparse() {
		hi = math.Max(hi, setLastStep(s, 2*band))
	}
	switch {
	case s.TimeS[len(s.TimeS)-1]-hi < usableRecordS:
		u.Result = setMoreThan(lo, ReasonUsableTooLate)
	case hi > lo:
		u.Result = setInterval(lo, hi)
	default:
		u.Result = setValue(at)
		if k := sort.SearchFloat64s(s.TimeS, at); moved && setIsBreak(breaks, k) {
			u.Result.U = (s.TimeS[k] - s.TimeS[k-1]) / math.Sqrt(12)
		}
	}
	u.PerPowerOn = 1
	return u
}

// setAround returns the last of t before x and the first not before it.
func setAround(t []float64, x float64) (lo, hi float64) {
	k := sort.SearchFloat64s(t, x)
	switch {
	case k == len(t):
		return t[k-1], t[k-1]
	case k == 0:
		return 0, t[0]
	}
	return t[k-1], t[k]
}

// setLastStep returns the time of the last reading that differs by more than
// most from the one before it: how it went from one to the other is not known.
func setLastStep(s Smoothed, most float64) float64 {
	for i := len(s.TimeS) - 1; i > 0; i-- {
		if math.Abs(s.FrequencyHz[i]-s.FrequencyHz[i-1]) > most {
			return s.TimeS[i]
		}
	}
	return 0
}
