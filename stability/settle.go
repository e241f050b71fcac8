package stability

import (
	"math"

	"setwright/quantity"
)

// Limits of the rule for "settled".
const (
	settleAheadS   = 3600.0 // the travel predicted over this time must stay within the band
	settleFewestS  = 600.0  // least record after the last exit
	settleFraction = 1.0 / 3
	settleSparseS  = 600.0 // two readings further apart than this make an interval
)

// Settling is the time from which a record stays within a band around its
// closing frequency up to the horizon.
type Settling struct {
	Result
	BandHz   float64
	HorizonS float64 // s since power-on

	ByLetterS   float64 // last exit, whether or not the set may be called settled; NaN where still outside
	FirstEntryS float64 // first time within the band, which is not settling; NaN where never
	PredictedS  float64 // time at which the fitted curve will have settled; NaN where it can't say
	TravelHz    float64 // farthest travel predicted for the hour after the horizon
	TravelUHz   float64 // its standard uncertainty
	TravelByFit bool    // by the fit; else by the closing slope
	Borderline  bool    // the travel is within two of its uncertainties of the band

	// UnsettledShare is the share of noise realisations in which too little
	// record follows the last exit, so that the figure would have been a bound.
	UnsettledShare float64
}

// setExit is the last exit of a curve from a band.
type setExit struct {
	last  int     // last point outside: -1 for none, the last point where still outside
	time  float64 // crossing between it and the next, by a straight line
	first float64 // first time inside
}

// setLastExit finds the last exit of the curve s at times t from c±band.
func setLastExit(t, s []float64, c, band float64) setExit {
	e := setExit{last: len(s) - 1, time: math.NaN(), first: math.NaN()}
	for e.last >= 0 && math.Abs(s[e.last]-c) <= band {
		e.last--
	}
	for i, v := range s {
		if math.Abs(v-c) <= band {
			e.first = t[i]
			if i > 0 {
				e.first = setCrossing(t, s, i, i-1, c, band)
			}
			break
		}
	}
	switch {
	case e.last < 0:
		e.time = t[0]
	case e.last < len(s)-1:
		e.time = setCrossing(t, s, e.last+1, e.last, c, band)
	}
	return e
}

// setCrossing is where the line from point in, within the band, to its
// neighbour out meets the edge of the band.
func setCrossing(t, s []float64, in, out int, c, band float64) float64 {
	edge := c + math.Copysign(band, s[out]-c)
	if s[in] == s[out] {
		return t[in]
	}
	return t[out] + (t[in]-t[out])*(s[out]-edge)/(s[out]-s[in])
}

// setAhead is the travel expected after the horizon.
type setAhead struct {
	travel, u float64 // the farthest within an hour, Hz
	byFit     bool
}

// setAheadOf predicts by the trend, or without one by a slope (Hz/s) and its
// uncertainty.
func setAheadOf(trend Trend, horizon, slope, uSlope float64) setAhead {
	if trend == nil {
		return setAhead{slope * settleAheadS, uSlope * settleAheadS, false}
	}
	far := setAhead{byFit: true}
	for x := 60.0; x <= settleAheadS; x += 60 {
		if d, u := trend.Travel(horizon, horizon+x); math.Abs(d) >= math.Abs(far.travel) {
			far.travel, far.u = d, u
		}
	}
	return far
}

// setSettling applies the whole rule to a smoothed record that ends at the
// horizon, with closing frequency c. breaks are indices after gaps or jumps.
func setSettling(s Smoothed, breaks []int, c, band, horizon float64, ahead setAhead, trend Trend) Settling {
	e := setLastExit(s.TimeS, s.FrequencyHz, c, band)
	out := Settling{BandHz: band, HorizonS: horizon, ByLetterS: e.time, FirstEntryS: e.first, PredictedS: math.NaN(),
		TravelHz: ahead.travel, TravelUHz: ahead.u, TravelByFit: ahead.byFit}
	out.Borderline = math.Abs(math.Abs(ahead.travel)-band) < 2*ahead.u
	out.Result = setFound(s, breaks, e)
	if why := setUnsettled(e, out.Result, band, horizon, ahead); why != "" {
		out.Result = setMoreThan(horizon, why)
		out.PredictedS = setPredicted(trend, horizon, band)
	}
	out.PerPowerOn = 1
	return out
}

// setFound gives the last exit as a value, or as an interval where nothing is
// known of the course between the last reading outside and the first inside.
func setFound(s Smoothed, breaks []int, e setExit) Result {
	if e.last < 0 {
		if e.time <= 0 {
			return setValue(0)
		}
		return setInterval(0, e.time)
	}
	if e.last == len(s.TimeS)-1 {
		return setAbsent(ReasonOutsideAtEnd)
	}
	a, b := s.TimeS[e.last], s.TimeS[e.last+1]
	if s.Sparse() || b-a > 3*MedianSpacing(s.TimeS)*(1+1e-9) || b-a > settleSparseS {
		return setInterval(a, b)
	}
	r := setValue(e.time)
	if setIsBreak(breaks, e.last+1) { // a jump between two readings: anywhere between them
		r.Value = (a + b) / 2
		r.U = (b - a) / math.Sqrt(12)
	}
	return r
}

func setIsBreak(breaks []int, i int) bool {
	for _, b := range breaks {
		if b == i {
			return true
		}
	}
	return false
}

// setUnsettled gives the reason why a record may not be called settled.
func setUnsettled(e setExit, found Result, band, horizon float64, ahead setAhead) Reason {
	at := found.Value
	if found.Kind == quantity.KindInterval {
		at = found.Hi
	}
	switch {
	case !found.Given():
		return ReasonOutsideAtEnd
	case math.Abs(ahead.travel) > band:
		return ReasonStillMoving
	case horizon-at < math.Max(settleFewestS, settleFraction*at):
		return ReasonEndsTooSoon
	}
	return ""
}

// setPredicted returns the time at which the trend will have settled: the last
// exit from the band around its value at the first later moment from which the
// next hour's travel stays within the band and enough record would follow the
// exit. NaN where that is not within two days.
func setPredicted(trend Trend, horizon, band float64) float64 {
	if trend == nil {
		return math.NaN()
	}
	for h := horizon; h <= horizon+48*3600; h += 60 + (h-horizon)/100 {
		if math.Abs(setAheadOf(trend, h, 0, 0).travel) > band {
			continue
		}
		if at := setTrendExit(trend, h, band); h-at >= math.Max(settleFewestS, settleFraction*at) {
			return at
		}
	}
	return math.NaN()
}

// setTrendExit is the last time before h at which the trend is outside the band
// around its value at h; 0 where it never is.
func setTrendExit(trend Trend, h, band float64) float64 {
	end := trend.At(h)
	out := func(t float64) bool { return math.Abs(trend.At(t)-end) > band }
	step := h / 2000
	for t := h - step; t >= 0; t -= step {
		if out(t) {
			lo, hi := t, t+step
			for k := 0; k < 40; k++ {
				if mid := (lo + hi) / 2; out(mid) {
					lo = mid
				} else {
					hi = mid
				}
			}
			return hi
		}
	}
	return 0
}

// SettlingTime returns the settling time of a smoothed record to ±band (Hz)
// around the closing frequency, by last exit; see figures: it is a bound where
// the travel predicted for the hour after the horizon leaves the band (by the
// trend, or by the closing slope of readings t, f where trend is nil) or the
// record ends within max(10 min, a third of the time found) after the exit.
// breaks are the indices that follow a gap or a jump. U is not set but for a
// jump; [Analyse] finds it from the noise.
func SettlingTime(s Smoothed, f []float64, breaks []int, band, horizon float64, trend Trend) Settling {
	c := ClosingFrequency(s.TimeS, f, horizon)
	slope, u := closingSlope(s.TimeS, f, 0)
	return setSettling(s, breaks, c, band, horizon, setAheadOf(trend, horizon, slope, u), trend)
}

// closingSlope is the least-squares slope (Hz/s) of the last 30 min, or of the
// last two readings where fewer fall in them, and its standard uncertainty from
// the scatter about the line and a least standard deviation of a reading.
func closingSlope(t, f []float64, least float64) (slope, u float64) {
	n := len(t)
	lo := n
	for lo > 0 && (t[n-1]-t[lo-1] <= 1800 || n-lo < 2) {
		lo--
	}
	m, mt, mf := float64(n-lo), 0.0, 0.0
	for i := lo; i < n; i++ {
		mt += (t[i] - t[n-1]) / m
		mf += (f[i] - f[n-1]) / m
	}
	sxx, sxy, syy := 0.0, 0.0, 0.0
	for i := lo; i < n; i++ {
		dt, df := t[i]-t[n-1]-mt, f[i]-f[n-1]-mf
		sxx, sxy, syy = sxx+dt*dt, sxy+dt*df, syy+df*df
	}
	if sxx == 0 {
		return 0, math.Inf(1)
	}
	slope = sxy / sxx
	sd := least
	if m > 2 {
		sd = math.Max(least, math.Sqrt(math.Max(0, syy-slope*sxy)/(m-2)))
	}
	return slope, sd / math.Sqrt(sxx)
}
