package stability

import "math"

// Slip is a reading that the counter or the eye got wrong: it is set aside and
// listed, never deleted.
type Slip struct {
	Index      int     // in the record, from 0
	TimeS      float64 // s since power-on
	ValueHz    float64 // as read
	ExpectedHz float64 // from the readings on either side
	Reason     SlipReason
}

// SlipReason says what most likely happened to a reading.
type SlipReason string

// The reasons told apart.
const (
	SlipHalf         SlipReason = "half count"
	SlipDouble       SlipReason = "double count"
	SlipDecimal      SlipReason = "decimal point out"
	SlipDigit        SlipReason = "a digit out"
	SlipDigitDropped SlipReason = "a digit dropped"
	SlipWild         SlipReason = "wild reading"
	SlipStuck        SlipReason = "stuck reading"
)

// Limits of the slip rule.
const (
	slipSigmas   = 8.0 // departure, in local standard deviations of one change
	slipRunWild  = 2   // readings in a row that may be wild
	slipRunCause = 10  // readings in a row that may share one known cause
	slipFew      = 12  // below this only gross known causes are looked for
)

// FindSlips lists the readings of r that are a digit, a half or a double out,
// or wild, or stuck.
//
// A slip leaves the course of the record and comes back to it: the change
// between two readings, less the local median slope, exceeds 8 local standard
// deviations (1.4826 times the larger of the median absolute change over 25
// readings and over the record, and never less than the resolution), and after
// at most 2 readings, or at most 10 with one known cause, the readings are back
// on the line (to within a quarter of the departure). A step that stays is
// therefore no slip, nor is a steep start, which never comes back. The first
// and last readings have one neighbour only: there, and in records of fewer
// than 12 readings, nothing but gross known causes (half, double, decimal
// point, a leading digit dropped) is taken for a slip.
//
// In simulated warm-ups with white, correlated, flicker and random-walk noise
// fewer than 1 in 100 records loses a reading to this rule.
func FindSlips(r Record) []Slip {
	return slipsOf(recSeriesOf(r, math.Inf(1)), r.ResolutionHz)
}

// slipsOf is FindSlips on a series.
func slipsOf(s recSeries, resolution float64) []Slip {
	n := len(s.t)
	if n < 4 {
		return nil
	}
	if resolution <= 0 {
		resolution = recResolution(s.f)
	}
	reasons := make([]SlipReason, n)
	expected := make([]float64, n)
	if n < slipFew {
		slipFewReadings(s, reasons, expected)
	} else {
		c := slipChangesOf(s, resolution)
		c.findRuns(reasons, expected)
		c.findEdges(reasons, expected)
		c.findStuck(reasons, expected)
	}
	var out []Slip
	for k, why := range reasons {
		if why != "" {
			out = append(out, Slip{s.idx[k], s.t[k], s.f[k], expected[k], why})
		}
	}
	return out
}

// slipChanges holds, for each reading but the first, the change from the one
// before it less the local slope, and what such a change amounts to by chance.
type slipChanges struct {
	recSeries
	slope, excess, scale []float64
	resolution           float64
}

func slipChangesOf(s recSeries, resolution float64) slipChanges {
	n := len(s.t)
	c := slipChanges{s, make([]float64, n), make([]float64, n), make([]float64, n), resolution}
	h := MedianSpacing(s.t)
	rates := make([]float64, 0, 25)
	for i := 1; i < n; i++ {
		c.slope[i] = slipLocalSlope(s, i, rates)
		c.excess[i] = s.f[i] - s.f[i-1] - c.slope[i]*(s.t[i]-s.t[i-1])
	}
	all := make([]float64, 0, n)
	for _, x := range c.excess[1:] {
		all = append(all, math.Abs(x))
	}
	whole := 1.4826 * recMedian(all)
	for i := 1; i < n; i++ {
		rates = rates[:0]
		for j := max(1, i-12); j <= min(n-1, i+12); j++ {
			rates = append(rates, math.Abs(c.excess[j]))
		}
		floor := math.Max(resolution, 1e-12*math.Abs(s.f[i]))
		c.scale[i] = math.Max(math.Max(1.4826*recMedian(rates), whole), floor)
		if dt := s.t[i] - s.t[i-1]; h > 0 && dt > h {
			c.scale[i] *= math.Sqrt(dt / h) // a wandering frequency wanders further in a longer time
		}
	}
	return c
}

// slipLocalSlope is the median rate of change over 11 changes about i.
func slipLocalSlope(s recSeries, i int, buf []float64) float64 {
	buf = buf[:0]
	for j := max(1, i-5); j <= min(len(s.t)-1, i+5); j++ {
		if dt := s.t[j] - s.t[j-1]; dt > 0 {
			buf = append(buf, (s.f[j]-s.f[j-1])/dt)
		}
	}
	if len(buf) == 0 {
		return 0
	}
	return recMedian(buf)
}

// findRuns finds departures that come back.
func (c slipChanges) findRuns(reasons []SlipReason, expected []float64) {
	n := len(c.t)
	for i := 1; i < n-1; i++ {
		if math.Abs(c.excess[i]) <= slipSigmas*c.scale[i] {
			continue
		}
		if end := c.runEnd(i); end > i && c.markRun(i, end, reasons, expected) {
			i = end
		}
	}
}

// runEnd returns the index of the first reading back on the line after a
// departure at i, or i where there is none near enough.
func (c slipChanges) runEnd(i int) int {
	sum, far := 0.0, 0.0
	for j := i; j < len(c.t) && j <= i+slipRunCause; j++ {
		sum += c.excess[j]
		back := math.Max(0.25*far, 6*c.scale[j])
		if j > i && math.Abs(sum) <= math.Min(back, 0.5*far) {
			return j
		}
		if math.Abs(sum) <= slipSigmas*c.scale[j] {
			return i
		}
		far = math.Max(far, math.Abs(sum))
	}
	return i
}

// markRun sets the readings i to end-1 aside; a run longer than a wild one may
// be needs one known cause.
func (c slipChanges) markRun(i, end int, reasons []SlipReason, expected []float64) bool {
	why := make([]SlipReason, end-i)
	want := make([]float64, end-i)
	for k := i; k < end; k++ {
		want[k-i] = slipBetween(c.recSeries, i-1, end, c.t[k])
		why[k-i] = slipCause(c.f[k], want[k-i], 4*c.scale[i])
		if end-i > slipRunWild && (why[k-i] == SlipWild || why[k-i] != why[0]) {
			return false
		}
	}
	copy(reasons[i:], why)
	copy(expected[i:], want)
	return true
}

// findEdges looks for gross known causes in the first and last readings.
func (c slipChanges) findEdges(reasons []SlipReason, expected []float64) {
	n := len(c.t)
	if e := c.f[1]; slipSteady(c.f[1:6], e) {
		slipMarkGross(c.recSeries, 0, e, 0.005, reasons, expected)
	}
	if e := c.f[n-2]; slipSteady(c.f[n-6:n-1], e) {
		slipMarkGross(c.recSeries, n-1, e, 0.005, reasons, expected)
	}
}

// slipSteady says whether readings move so little about e that a factor of two
// can't be drift.
func slipSteady(f []float64, e float64) bool {
	for _, v := range f {
		if math.Abs(v-e) > 0.005*math.Abs(e) {
			return false
		}
	}
	return true
}

// findStuck finds runs of one value repeated while the frequency moved on.
func (c slipChanges) findStuck(reasons []SlipReason, expected []float64) {
	n := len(c.t)
	for i := 5; i < n; {
		j := i + 1
		for j < n && c.f[j] == c.f[i] {
			j++
		}
		if j-i >= 5 && j+5 < n && c.isStuck(i, j) {
			for k := i + 1; k < j; k++ {
				reasons[k], expected[k] = SlipStuck, slipBetween(c.recSeries, i, j, c.t[k])
			}
		}
		i = j
	}
}

// isStuck says whether the readings i to j-1, all equal, stand still on a line
// that runs at one slope before, across and after them.
func (c slipChanges) isStuck(i, j int) bool {
	rate := func(a, b int) float64 { return (c.f[b] - c.f[a]) / (c.t[b] - c.t[a]) }
	if c.t[i] == c.t[i-5] || c.t[j] == c.t[i] || c.t[j+5] == c.t[j] {
		return false
	}
	before, across, after := rate(i-5, i), rate(i, j), rate(j, j+5)
	moved := math.Abs(c.f[j] - c.f[i])
	if moved < math.Max(5*c.resolution, slipSigmas*c.scale[i]) {
		return false
	}
	near := func(r float64) bool { return math.Abs(r-across) < 0.5*math.Abs(across) }
	return near(before) && near(after)
}

// slipBetween is the line through readings a and b at time t.
func slipBetween(s recSeries, a, b int, t float64) float64 {
	if s.t[b] == s.t[a] {
		return (s.f[a] + s.f[b]) / 2
	}
	return s.f[a] + (s.f[b]-s.f[a])*(t-s.t[a])/(s.t[b]-s.t[a])
}
