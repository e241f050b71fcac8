package intake

import (
	"fmt"
	"time"
)

// origin is the moment of time zero, where it is known.
func (t *timeColumn) origin() (*time.Time, bool) {
	if t.begun && (t.form == TimeStamp || t.form == TimeUnix || t.form == TimeUnixMillis || t.dateIndex >= 0) {
		m := t.zero.moment()
		return &m, t.zoned
	}
	if t.start != nil && t.start.hasDate {
		m := t.start.stamp.moment()
		return &m, t.start.stamp.zoned
	}
	return nil, false
}

// complain says what is wrong with the time cell of a row.
func (t *timeColumn) complain(cells [][]byte) Problem {
	p := Problem{Column: t.index + 1, ColumnName: RoleTime, Expected: timeForms[t.form]}
	var cell []byte
	if t.index >= 0 && t.index < len(cells) {
		cell = cells[t.index]
	}
	p.Found = quote(cell)
	switch t.form {
	case TimeNumber, TimeIndex:
		if scanned, took := scanElapsed(cell, false); whole(cell, took) && scanned.parts > 0 {
			p.Advice = "if the times are clock or elapsed times, say so (--time clock or --time elapsed)"
			return p
		}
		inner := t.number.complain(cell)
		inner.ColumnName = RoleTime
		return inner
	case TimeStamp:
		if s, took := scanStamp(cell, t.order, true); whole(cell, took) && s.zoned != t.zoned {
			p.Expected = "the zone stated in all time stamps or in none"
		} else if took == 0 {
			p.Advice = "if day and month are the other way round, say so (--date-order mdy or dmy)"
		}
	case TimeElapsed:
		if _, took := scanNumber(cell, t.number.format, 0); took == len(cell) {
			p.Advice = "a bare number needs its unit, as in 10 min, or say which (--time minutes)"
		}
	case TimeClock:
		if t.dateIndex >= 0 && t.dateIndex < len(cells) {
			if d, took := scanClock(cell); whole(cell, took) && d.parts > 0 {
				p.Column, p.ColumnName, p.Found, p.Expected = t.dateIndex+1, RoleDate, quote(cells[t.dateIndex]), "a date"
			}
		}
	}
	return p
}

// backwards says that a time lies before the one before, and what that may be.
func backwards(t *timeColumn, now, before float64) Problem {
	p := Problem{Column: t.index + 1, ColumnName: RoleTime,
		Found:    fmt.Sprintf("a time %s s before that of the row above", trimFloat(before-now)),
		Expected: "times that never run backwards",
		Advice:   "if the log was started anew, split it at this line"}
	if t.form == TimeNumber || t.form == TimeElapsed {
		p.Advice += "; if a clock passed midnight, say that the times are clock times (--time clock)"
	}
	if back := before - now; t.form == TimeStamp && !t.zoned && back > 3000 && back <= 3600 {
		p.Advice = "this looks like the end of summer time: log with the zone, or correct the stamps"
	}
	return p
}
