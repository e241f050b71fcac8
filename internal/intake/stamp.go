package intake

import (
	"bytes"
	"strings"
	"time"
)

// stamp is a date with or without a time of day.
type stamp struct {
	unix     int64   // whole seconds; of the local clock where zoned is false
	fraction float64 // of a second
	decimals int     // digits after the seconds' mark; -1: no seconds typed
	zoned    bool
	offset   int // seconds east of Greenwich, where zoned
}

// dateOrder is the order of day, month and year in dates that do not begin with
// the year.
type dateOrder string

const (
	dayFirst   dateOrder = "dmy"
	monthFirst dateOrder = "mdy"
	yearFirst  dateOrder = "ymd"
)

// scanDate reads a date at the start of b: "2024-05-01", "01.05.2024",
// "5/1/2024", "20240501", "1 May 2024", "01-May-2024". It returns the three
// numbers as day, month, year, and whether their order was certain.
func scanDate(b []byte, order dateOrder) (day, month, year, took int) {
	a, w := scanInt(b)
	if w == 8 {
		return checkDate(a%100, a/100%100, a/10000, w)
	}
	if w == 0 || w > 4 || w == 3 || w >= len(b) {
		return 0, 0, 0, 0
	}
	if m, mw := scanMonth(b[w:]); mw > 0 && w <= 2 {
		y, yw := scanInt(b[w+mw:])
		if yw != 4 && yw != 2 {
			return 0, 0, 0, 0
		}
		return checkDate(a, m, fullYear(y, yw), w+mw+yw)
	}
	mark := b[w]
	if mark != '-' && mark != '/' && mark != '.' {
		return 0, 0, 0, 0
	}
	m, mw := scanInt(b[w+1:])
	i := w + 1 + mw
	if mw == 0 || mw > 2 || i >= len(b) || b[i] != mark {
		return 0, 0, 0, 0
	}
	c, cw := scanInt(b[i+1:])
	if cw == 0 || cw == 3 || cw > 4 || (w == 4 && cw > 2) {
		return 0, 0, 0, 0
	}
	took = i + 1 + cw
	switch {
	case w == 4 || order == yearFirst && cw <= 2:
		return checkDate(c, m, fullYear(a, w), took)
	case cw == 1:
		return 0, 0, 0, 0
	case order == monthFirst:
		return checkDate(m, a, fullYear(c, cw), took)
	}
	return checkDate(a, m, fullYear(c, cw), took)
}

func fullYear(y, width int) int {
	switch {
	case width == 4:
		return y
	case y >= 70:
		return 1900 + y
	}
	return 2000 + y
}

// checkDate passes a date that exists and nothing else.
func checkDate(day, month, year, took int) (int, int, int, int) {
	if month < 1 || month > 12 || day < 1 || day > 31 || year < 1900 || year > 2200 {
		return 0, 0, 0, 0
	}
	if day > 28 && time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC).Day() != day {
		return 0, 0, 0, 0
	}
	return day, month, year, took
}

// scanMonth reads "-May-", " May ", ". Mai " and the like: an English month name
// or its first three letters between marks.
func scanMonth(b []byte) (month, took int) {
	i := 0
	for i < len(b) && strings.IndexByte(" -./", b[i]) >= 0 {
		i++
	}
	start := i
	for i < len(b) && isLetter(b[i]) {
		i++
	}
	if i-start < 3 || start == 0 {
		return 0, 0
	}
	for m := time.January; m <= time.December; m++ {
		name := m.String()
		if w := b[start:i]; strings.EqualFold(string(w), name) || strings.EqualFold(string(w), name[:3]) {
			for i < len(b) && strings.IndexByte(" -./,", b[i]) >= 0 {
				i++
			}
			return int(m), i
		}
	}
	return 0, 0
}

// daysFromCivil is the day number of a date of the Gregorian calendar, 0 on
// 1 January 1970. (Howard Hinnant's days_from_civil, from memory; tested against package time.)
func daysFromCivil(year, month, day int) int64 {
	if month <= 2 {
		year--
		month += 12
	}
	era := year / 400
	yearOfEra := year % 400
	dayOfYear := (153*(month-3)+2)/5 + day - 1
	dayOfEra := yearOfEra*365 + yearOfEra/4 - yearOfEra/100 + dayOfYear
	return int64(era)*146097 + int64(dayOfEra) - 719468
}

// scanStamp reads a date and a time of day, with a zone or without, at the start
// of b. The time may follow "T", blanks, a comma or an underscore. wholeDays
// lets a date alone pass.
func scanStamp(b []byte, order dateOrder, wholeDays bool) (stamp, int) {
	skip := scanWeekday(b)
	if skip > 0 {
		if s, took := scanSystemDate(b[skip:]); took > 0 {
			return s, skip + took
		}
		if s, took := scanStamp(b[skip:], order, wholeDays); took > 0 && scanWeekday(b[skip:]) == 0 {
			return s, skip + took
		}
		return stamp{}, 0
	}
	day, month, year, i := scanDate(b, order)
	if i == 0 {
		return stamp{}, 0
	}
	s := stamp{unix: daysFromCivil(year, month, day) * 86400, decimals: -1}
	j := i
	for j < len(b) && j < i+3 && strings.IndexByte("T _,t", b[j]) >= 0 {
		j++
	}
	clock, w := scanClock(b[j:])
	if w == 0 || j == i {
		if c, cw := scanCompactClock(b[j:]); cw > 0 && j > i {
			clock, w = c, cw
		} else if wholeDays {
			return s, i
		} else {
			return stamp{}, 0
		}
	}
	whole := int64(clock.seconds)
	s.unix += whole
	s.fraction = clock.seconds - float64(whole)
	s.decimals = clock.decimals
	i = j + w
	if offset, zw := scanZone(b[i:]); zw > 0 {
		s.zoned, s.offset = true, offset
		s.unix -= int64(offset)
		i += zw
	}
	return s, i
}

// scanCompactClock reads "190530" or "1905" as after "20240501T".
func scanCompactClock(b []byte) (duration, int) {
	v, w := scanInt(b)
	switch w {
	case 4:
		v *= 100
	case 6:
	default:
		return duration{}, 0
	}
	h, m, s := v/10000, v/100%100, v%100
	if h > 23 || m > 59 || s > 59 {
		return duration{}, 0
	}
	return duration{float64(h*3600 + m*60 + s), 0, 3}, w
}

// zones are the abbreviations that people write after a time, with their usual
// meaning in Europe and North America (common practice, no source).
var zones = map[string]int{"Z": 0, "UTC": 0, "GMT": 0, "WET": 0, "WEST": 1, "BST": 1, "CET": 1, "MEZ": 1,
	"CEST": 2, "MESZ": 2, "EET": 2, "EEST": 3, "AST": -4, "ADT": -3, "EST": -5, "EDT": -4, "CST": -6, "CDT": -5,
	"MST": -7, "MDT": -6, "PST": -8, "PDT": -7}

// scanZone reads "Z", "+02:00", "+0200", "-5", " UTC", " CEST", " UTC+2" and
// returns seconds east of Greenwich.
func scanZone(b []byte) (offset, took int) {
	i := skipBlanks(b)
	j := i
	for j < len(b) && isLetter(b[j]) && j-i < 5 {
		j++
	}
	if j > i {
		hours, ok := zones[strings.ToUpper(string(b[i:j]))]
		if !ok {
			return 0, 0
		}
		offset, took = hours*3600, j
		if hours != 0 || j-i == 1 {
			return offset, took
		}
		i = j
	}
	sign := 1
	k, negative := scanSign(b[i:])
	if k == 0 {
		return offset, took
	}
	if negative {
		sign = -1
	}
	i += k
	h, w := scanInt(b[i:])
	m := 0
	switch {
	case w == 4:
		h, m = h/100, h%100
	case w == 1 || w == 2:
		if i+w < len(b) && b[i+w] == ':' {
			v, mw := scanInt(b[i+w+1:])
			if mw != 2 {
				return offset, took
			}
			m, w = v, w+1+mw
		}
	default:
		return offset, took
	}
	if h > 14 || m > 59 {
		return offset, took
	}
	return sign * (h*3600 + m*60), i + w
}

// whole says that a scan that took n bytes took all of b but blanks.
func whole(b []byte, n int) bool {
	return n > 0 && len(bytes.TrimSpace(b[n:])) == 0
}

// scanWeekday reads "Wed ", "Wed, " or "Wednesday, " before a date.
func scanWeekday(b []byte) int {
	i := 0
	for i < len(b) && i < 10 && isLetter(b[i]) {
		i++
	}
	if i < 3 || i >= len(b) || b[i] != ' ' && b[i] != ',' {
		return 0
	}
	for d := time.Sunday; d <= time.Saturday; d++ {
		if name := d.String(); strings.EqualFold(string(b[:i]), name) || strings.EqualFold(string(b[:i]), name[:3]) {
			for i < len(b) && (b[i] == ' ' || b[i] == ',') {
				i++
			}
			return i
		}
	}
	return 0
}

// scanSystemDate reads what follows the weekday in the way that systems print
// dates: "May  1 19:00:00 2024", perhaps with a zone before the year.
func scanSystemDate(b []byte) (stamp, int) {
	var room [24]byte
	month, i := scanMonth(append(append(room[:0], ' '), b[:min(len(b), 20)]...))
	i-- // the blank put before it
	if month == 0 {
		return stamp{}, 0
	}
	day, w := scanInt(b[i:])
	i += w + skipBlanks(b[i+w:])
	clock, cw := scanClock(b[i:])
	if w == 0 || cw == 0 {
		return stamp{}, 0
	}
	i += cw
	offset, zw := scanZone(b[i:])
	i += zw + skipBlanks(b[i+zw:])
	year, yw := scanInt(b[i:])
	if yw != 4 {
		return stamp{}, 0
	}
	if _, _, _, ok := checkDate(day, month, year, 1); ok == 0 {
		return stamp{}, 0
	}
	whole := int64(clock.seconds)
	return stamp{unix: daysFromCivil(year, month, day)*86400 + whole - int64(offset), fraction: clock.seconds - float64(whole),
		decimals: clock.decimals, zoned: zw > 0, offset: offset}, i + yw
}
