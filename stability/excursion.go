package stability

import "math"

// Moments of the excursion, s after power-on.
const (
	excursionFromS = 60.0
	excursionLateS = 120.0
)

// setRange returns the largest less the smallest of s from t = from on, and the
// indices of both; fewer than 2 points give NaN.
func setRange(t, s []float64, from float64) (span float64, lo, hi int) {
	lo, hi = -1, -1
	count := 0
	for i, v := range s {
		if t[i] < from {
			continue
		}
		if count++; lo < 0 || v < s[lo] {
			lo = i
		}
		if hi < 0 || v > s[hi] {
			hi = i
		}
	}
	if count < 2 {
		return math.NaN(), lo, hi
	}
	return s[hi] - s[lo], lo, hi
}

// Excursion returns the largest less the smallest of the smoothed record, from
// 60 s after power-on on: a bound where the first reading is later than 120 s.
func Excursion(s Smoothed) Result {
	span, lo, hi := setRange(s.TimeS, s.FrequencyHz, excursionFromS)
	if math.IsNaN(span) {
		return setAbsent(ReasonRecordTooShort)
	}
	r := setValue(span)
	if s.TimeS[0] > excursionLateS {
		r = setMoreThan(span, ReasonFirstReadingLate)
	}
	r.PerPowerOn = setStartSlope(s, lo, hi)
	r.U = math.Hypot(s.UHz[lo], s.UHz[hi])
	return r
}

// setStartSlope is how much the excursion grows per second by which the window
// begins earlier: only where its first point is the extreme.
func setStartSlope(s Smoothed, lo, hi int) float64 {
	first := min(lo, hi)
	if first+1 >= len(s.TimeS) || (first > 0 && s.TimeS[first-1] >= excursionFromS) || s.TimeS[first] > excursionLateS {
		return 0
	}
	dt := s.TimeS[first+1] - s.TimeS[first]
	if dt <= 0 || s.TimeS[first] > excursionFromS+dt {
		return 0 // the window begins with the record, not at 60 s
	}
	return math.Abs(s.FrequencyHz[first+1]-s.FrequencyHz[first]) / dt
}
