package chart

import (
	"math"
	"strconv"
	"time"
)

// timeUnit is a unit of time an axis can be read in.
type timeUnit struct {
	seconds float64
	sign    string // "min"
	word    string // "minutes"
	upTo    float64
	steps   []float64 // of the unit, besides multiples of the last by ten
}

// The unit is the first whose upTo (s) is not less than the span: a warm-up of
// one or two hours is read in minutes, a day in hours.
var timeUnits = []timeUnit{
	{1, "s", "seconds", 150, []float64{1, 2, 5, 10, 15, 20, 30, 60}},
	{60, "min", "minutes", 4 * 3600, []float64{1, 2, 5, 10, 15, 30, 60}},
	{3600, "h", "hours", 4 * 86400, []float64{1, 2, 3, 4, 6, 12, 24}},
	{86400, "d", "days", math.Inf(1), []float64{1, 2, 5, 7, 10}},
}

func unitForSpan(spanS float64) timeUnit {
	for _, u := range timeUnits {
		if spanS <= u.upTo {
			return u
		}
	}
	return timeUnits[len(timeUnits)-1]
}

// TimeTicks returns ticks for a stretch of time from loS to hiS seconds: the
// unit people would read it in ("s", "min", "h", "d"), and ticks whose values
// are in seconds and whose labels are in that unit, at steps a clock face
// would have (0 15 30 45 60 min). At most `most` (2 or more).
func TimeTicks(loS, hiS float64, most int) (unit string, ticks []Tick) {
	u := unitForSpan(hiS - loS)
	if !finite(loS) || !finite(hiS) || loS >= hiS {
		return u.sign, nil
	}
	lo, hi := loS/u.seconds, hiS/u.seconds
	for _, t := range u.ticks(lo, hi, max(most, 2)) {
		ticks = append(ticks, Tick{t.Value * u.seconds, t.Label})
	}
	return u.sign, ticks
}

func (u timeUnit) ticks(lo, hi float64, most int) []Tick {
	last := u.steps[len(u.steps)-1]
	if hi-lo < float64(most)/2 || hi/last-lo/last > float64(most) {
		return LinearTicks(lo, hi, most) // finer than one unit, or coarser than the list
	}
	for _, m := range u.steps {
		if s := (step{m, 0}); count(lo, hi, s) <= most {
			return multiples(lo, hi, s)
		}
	}
	return LinearTicks(lo, hi, most)
}

// DateTicks returns ticks for a stretch of calendar from one moment to
// another, at first days of years or months, at days or at hours; values are
// Unix seconds. At most `most` (2 or more). Dates are written so that no one
// takes the month for the day: "4 Mar", "Mar 2024", "2024". The zone is that
// of `from`.
func DateTicks(from, to time.Time, most int) []Tick {
	if !from.Before(to) {
		return nil
	}
	most = max(most, 2)
	for _, c := range calendarSteps {
		if c.approx*float64(most) < to.Sub(from).Seconds() {
			continue
		}
		if ticks := c.ticks(from, to); len(ticks) <= most {
			return ticks
		}
	}
	return yearTicks(from, to, most)
}

// calendarStep is a step of n units of the calendar.
type calendarStep struct {
	approx float64 // s
	n      int
	floor  func(time.Time) time.Time // down to a whole step
	add    func(time.Time) time.Time
	layout string
}

const day = 86400

var calendarSteps = []calendarStep{
	hours(1), hours(3), hours(6), hours(12),
	days(1), days(2), days(7), days(14),
	months(1), months(3), months(6), years(1),
}

func hours(n int) calendarStep {
	return calendarStep{float64(n) * 3600, n,
		func(t time.Time) time.Time {
			return time.Date(t.Year(), t.Month(), t.Day(), t.Hour()/n*n, 0, 0, 0, t.Location())
		},
		func(t time.Time) time.Time {
			return time.Date(t.Year(), t.Month(), t.Day(), t.Hour()+n, 0, 0, 0, t.Location())
		},
		"2 Jan 15:04"}
}

func days(n int) calendarStep {
	return calendarStep{float64(n) * day, n,
		func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), 1, 0, 0, 0, 0, t.Location()) },
		func(t time.Time) time.Time { return t.AddDate(0, 0, n) },
		"2 Jan"}
}

func months(n int) calendarStep {
	return calendarStep{float64(n) * 30.4 * day, n,
		func(t time.Time) time.Time { return time.Date(t.Year(), 1, 1, 0, 0, 0, 0, t.Location()) },
		func(t time.Time) time.Time { return t.AddDate(0, n, 0) },
		"Jan 2006"}
}

func years(n int) calendarStep {
	c := months(12 * n)
	c.layout = "2006"
	return c
}

func (c calendarStep) ticks(from, to time.Time) []Tick {
	var out []Tick
	for t := c.floor(from); !t.After(to); t = c.add(t) {
		if !t.Before(from) {
			out = append(out, Tick{float64(t.Unix()), t.Format(c.layout)})
		}
	}
	return out
}

func yearTicks(from, to time.Time, most int) []Tick {
	var out []Tick
	s := niceStep(float64(from.Year()), float64(to.Year()+1), most)
	if s.e < 0 {
		s = step{1, 0}
	}
	for _, y := range multiples(float64(from.Year()), float64(to.Year()+1), s) {
		t := time.Date(int(y.Value), 1, 1, 0, 0, 0, 0, from.Location())
		if !t.Before(from) && !t.After(to) {
			out = append(out, Tick{float64(t.Unix()), strconv.Itoa(t.Year())})
		}
	}
	return out
}
