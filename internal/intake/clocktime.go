package intake

import (
	"bytes"
	"math"
)

// timeColumn turns the cells of the time column (and of a date column beside it)
// into seconds from the zero of the log.
type timeColumn struct {
	index, dateIndex int // of the cells, from 0; -1: none
	form             string
	number           numberColumn // for plain numbers and bare ones among others
	hasBare          bool         // bare numbers have a unit
	order            dateOrder
	spacing          float64
	missing          []string
	start            *startMoment

	begun     bool
	zero      stamp   // zero of stamps
	zeroClock float64 // zero of clock times
	day       float64 // seconds rolled over midnight
	clock     float64 // last clock time
	zoned     bool
	rows      int
	step      float64
}

// read gives the time of a row, in seconds.
func (t *timeColumn) read(cells [][]byte) (float64, cellState) {
	t.rows++
	if t.index < 0 {
		return float64(t.rows-1) * t.spacing, cellOK
	}
	var cell []byte
	if t.index < len(cells) {
		cell = cells[t.index]
	}
	if t.form != TimeNumber && isMissing(cell, t.missing) {
		return math.NaN(), cellMissing
	}
	switch t.form {
	case TimeElapsed, TimeElapsedHM:
		return t.readElapsed(cell)
	case TimeClock:
		return t.readClock(cell, cells)
	case TimeStamp:
		s, took := scanStamp(cell, t.order, t.dateIndex < 0)
		if !whole(cell, took) {
			return math.NaN(), cellBad
		}
		return t.fromStamp(s)
	case TimeUnix, TimeUnixMillis:
		return t.readUnix(cell)
	case TimeIndex:
		v, state := t.number.read(cell)
		return v * t.spacing, state
	}
	return t.number.read(cell)
}

func (t *timeColumn) readElapsed(cell []byte) (float64, cellState) {
	d, took := scanElapsed(cell, t.form == TimeElapsedHM)
	if whole(cell, took) {
		t.digits(d)
		return d.seconds, cellOK
	}
	n, took := scanNumber(cell, t.number.format, 0)
	if took == len(cell) && n.value == 0 {
		return 0, cellOK
	}
	if t.hasBare {
		return t.number.read(cell)
	}
	return math.NaN(), cellBad
}

// digits keeps the finest last digit of the times.
func (t *timeColumn) digits(d duration) {
	step := 60.0
	if d.decimals >= 0 {
		step = math.Pow10(-d.decimals)
	}
	if t.step == 0 || step < t.step {
		t.step = step
	}
}

// readClock reads a time of day, with the date of the date column if there is
// one, and rolls over midnight where there is none.
func (t *timeColumn) readClock(cell []byte, cells [][]byte) (float64, cellState) {
	d, took := scanClock(cell)
	if !whole(cell, took) {
		return math.NaN(), cellBad
	}
	if t.dateIndex >= 0 {
		return t.withDate(d, cells)
	}
	t.digits(d)
	switch {
	case !t.begun:
		t.begun = true
		t.zeroClock = d.seconds
		if t.start != nil {
			t.zeroClock = t.start.clock
			if d.seconds < t.zeroClock-43200 {
				t.day = 86400
			}
		}
	case d.seconds < t.clock-43200:
		t.day += 86400
	}
	t.clock = d.seconds
	return t.day + (d.seconds - t.zeroClock), cellOK
}

func (t *timeColumn) withDate(d duration, cells [][]byte) (float64, cellState) {
	if t.dateIndex >= len(cells) || isMissing(cells[t.dateIndex], t.missing) {
		return math.NaN(), cellMissing
	}
	cell := cells[t.dateIndex]
	day, month, year, took := scanDate(cell, t.order)
	if !whole(cell, took) && !bytes.HasPrefix(cell[took:], []byte(" 00:00")) && !bytes.HasPrefix(cell[took:], []byte("T00:00")) || took == 0 {
		return math.NaN(), cellBad
	}
	seconds := math.Floor(d.seconds)
	return t.fromStamp(stamp{unix: daysFromCivil(year, month, day)*86400 + int64(seconds),
		fraction: d.seconds - seconds, decimals: d.decimals})
}

// fromStamp counts seconds from the zero; the whole seconds are subtracted as
// integers so that fractions keep their digits.
func (t *timeColumn) fromStamp(s stamp) (float64, cellState) {
	if !t.begun {
		t.begun, t.zoned = true, s.zoned
		t.zero = t.zeroStamp(s)
	}
	if s.zoned != t.zoned {
		return math.NaN(), cellBad
	}
	t.digits(duration{decimals: s.decimals})
	return float64(s.unix-t.zero.unix) + (s.fraction - t.zero.fraction), cellOK
}

// zeroStamp is the zero of stamps: the start given, else the first stamp. A
// start without zone takes that of the first stamp; one without date is the last
// such time of day at most twelve hours after it.
func (t *timeColumn) zeroStamp(first stamp) stamp {
	if t.start == nil {
		return first
	}
	if t.start.hasDate {
		zero := t.start.stamp
		if !zero.zoned {
			zero.zoned, zero.offset = first.zoned, first.offset
			zero.unix -= int64(first.offset)
		}
		return zero
	}
	midnight := first.unix + int64(first.offset)
	midnight -= midnight % 86400
	zero := first
	zero.unix = midnight - int64(first.offset) + int64(t.start.clock)
	zero.fraction = t.start.clock - math.Floor(t.start.clock)
	if zero.unix > first.unix+43200 {
		zero.unix -= 86400
	}
	return zero
}

func (t *timeColumn) readUnix(cell []byte) (float64, cellState) {
	shift := 0
	if t.form == TimeUnixMillis {
		shift = -3
	}
	dot := bytes.IndexByte(cell, t.number.format.decimal)
	wholePart := cell
	fraction := number{}
	if shift == 0 && dot >= 0 {
		var took int
		if fraction, took = scanNumber(cell[dot:], t.number.format, 0); took != len(cell)-dot && len(cell)-dot > 1 {
			return math.NaN(), cellBad
		}
		wholePart = cell[:dot]
	}
	n, took := scanNumber(wholePart, t.number.format, shift)
	if took == 0 || took != len(wholePart) || math.Abs(n.value) > 1e11 {
		return math.NaN(), cellBad
	}
	seconds := math.Floor(n.value)
	return t.fromStamp(stamp{unix: int64(seconds), fraction: n.value - seconds + fraction.value,
		decimals: max(fraction.decimals, -shift), zoned: true})
}
