package intake

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// findUnit settles in which unit the bare numbers of a column are.
func (a *assigner) findUnit(c *Column, e *evidence) {
	switch c.Role.Value {
	case RoleIgnore, RoleDate:
		return
	case RoleTime:
		a.findTimeForm(c, e)
		return
	}
	i := slices.IndexFunc(a.wanted, func(s ColumnSpec) bool { return s.ID == c.Role.Value })
	if i < 0 {
		return // refused later
	}
	s := a.wanted[i]
	c.Steady = s.Steady
	c.BaseUnit = s.Units[0]
	if name := a.over.Columns[c.Number].Unit; name != "" {
		c.Unit = given(name)
	} else {
		c.Unit = unitOf(e, s)
	}
	if u, ok := lookUpUnit(c.Unit.Value, ""); ok && c.Unit.Value != "" {
		c.BaseUnit = u.base
	} else if base := e.cellBase(); slices.Contains(s.Units, base) {
		c.BaseUnit = base
	}
}

// unitOf guesses the unit of a column: its heading, its cells, its size.
func unitOf(e *evidence, s ColumnSpec) Guess {
	if base := e.heading.base(); base != "" && slices.Contains(s.Units, base) {
		if e.heading.unit == "mHz" && s.Steady {
			return unsure("MHz", "the heading says mHz, millihertz by the letter; megahertz must be meant")
		}
		return sure(e.heading.unit, "the heading says so")
	}
	if len(e.units) > 0 {
		return cellUnits(e, s)
	}
	if s.Units[0] == "Hz" {
		return frequencyUnit(e)
	}
	bare := s.Units[0]
	if s.Bare != "" {
		bare = s.Bare
	}
	return unsure(bare, "no unit is stated; "+s.Title+" is taken in "+bare)
}

// cellUnits handles units in cells: none is needed where each cell has its own.
// Where only some have it and it is one and the same, bare numbers of the same
// size are taken to share it.
func cellUnits(e *evidence, s ColumnSpec) Guess {
	names := make([]string, 0, len(e.units))
	for n := range e.units {
		names = append(names, n)
	}
	slices.Sort(names)
	bare := e.counts[kindNumber]
	switch {
	case bare == 0 && len(names) == 1:
		return sure("", "each cell says its unit, "+names[0])
	case bare == 0:
		return sure("", "each cell says its unit: "+strings.Join(names, ", "))
	case len(names) == 1 && e.spread() < 0.5:
		return unsure(names[0], fmt.Sprintf("%s so, and the bare numbers are of the same size", count(e.counts[kindQuantity], "cell says", "cells say")))
	}
	return sure("", "some cells say their unit and others do not")
}

// frequencyUnit guesses by size: a receiver's frequencies lie between some
// kilohertz and some hundred megahertz, and are typed with the prefix that keeps
// them short (common practice, no source).
func frequencyUnit(e *evidence) Guess {
	if len(e.values) == 0 {
		return unsure("Hz", "no unit is stated")
	}
	v := slices.Clone(e.values)
	slices.Sort(v)
	typical := math.Abs(v[len(v)/2])
	name := "Hz"
	switch {
	case typical >= 1e5:
	case typical >= 60:
		name = "kHz"
	case typical > 0:
		name = "MHz"
	}
	return unsure(name, fmt.Sprintf("no unit is stated; numbers like %s suggest it", trimFloat(typical)))
}

// findTimeForm settles how the time column is to be read.
func (a *assigner) findTimeForm(c *Column, e *evidence) {
	c.BaseUnit = "s"
	c.TimeForm, c.Unit = timeForm(e)
	over := a.over.Columns[c.Number]
	form, unitName := over.TimeForm, over.Unit
	if a.over.Time != "" {
		form, unitName, _ = timeOverride(a.over.Time)
	}
	if form != "" {
		c.TimeForm = given(form)
	}
	if unitName != "" {
		c.Unit = given(unitName)
		if form == "" && c.TimeForm.Value == TimeUnix {
			c.TimeForm = given(TimeNumber)
		}
	}
	if c.TimeForm.Value == TimeNumber && c.Unit.Value == "" {
		c.Unit = unsure("s", "no unit is stated; times are usually logged in seconds")
	}
	if c.TimeForm.Value != TimeNumber && c.TimeForm.Value != TimeElapsed && c.TimeForm.Value != TimeElapsedHM {
		c.Unit = Guess{}
	}
}

// timeForm guesses the form, and the unit of numbers.
func timeForm(e *evidence) (form, unitGuess Guess) {
	switch {
	case e.mostly(kindStamp), e.mostly(kindDate):
		return sure(TimeStamp, "the cells are dates with times"), Guess{}
	case e.mostly(kindColon2, kindColon3, kindWords):
		return colonForm(e), bareMinutes(e)
	case e.mostly(kindQuantity) && e.cellBase() == "s":
		return sure(TimeElapsed, "the cells say their unit of time"), bareMinutes(e)
	}
	if headerScore(e.heading.name, indexAliases) > 0 && e.heading.unit == "" {
		return sure(TimeIndex, "it numbers the readings"), Guess{}
	}
	first := 0.0
	if len(e.values) > 0 {
		first = e.values[0]
	}
	switch {
	case e.heading.base() == "s" && e.heading.unit != "":
		return sure(TimeNumber, "the heading gives a unit of time"), sure(e.heading.unit, "the heading says so")
	case first > 5e8 && first < 5e9:
		return unsure(TimeUnix, "numbers of this size are usually seconds since 1970"), Guess{}
	case first > 5e11 && first < 5e12:
		return unsure(TimeUnixMillis, "numbers of this size are usually milliseconds since 1970"), Guess{}
	}
	for _, w := range []string{"seconds", "minutes", "hours", "sec", "min", "milliseconds"} {
		if hasWord(e.heading.name, w) {
			return sure(TimeNumber, "the heading gives a unit of time"), sure(w, "the heading says so")
		}
	}
	return sure(TimeNumber, "the cells are plain numbers"), unsure("s", "no unit is stated; times are usually logged in seconds")
}

// bareMinutes is the unit of bare numbers among times: people who write "10 min"
// mean minutes when they leave it out.
func bareMinutes(e *evidence) Guess {
	for _, v := range e.values {
		if v != 0 {
			return unsure("min", "some times are bare numbers; glances at a clock are usually in minutes")
		}
	}
	return Guess{}
}

// colonForm tells elapsed times from times of day, and mm:ss from h:mm.
func colonForm(e *evidence) Guess {
	if e.counts[kindWords] > 0 && e.counts[kindColon2]+e.counts[kindColon3] == 0 {
		return sure(TimeElapsed, "the cells are stretches of time with units")
	}
	first, longest, elapsedOnly, three := math.NaN(), 0.0, e.counts[kindWords] > 0, e.counts[kindColon3] > 0
	for _, c := range e.cells {
		if _, took := scanClock(c); !whole(c, took) {
			elapsedOnly = true // 25:10 or 1:02:03 past 24 h
		}
		d, took := scanElapsed(c, false)
		if !whole(c, took) {
			return sure(TimeClock, "the cells are times of day")
		}
		if math.IsNaN(first) {
			first = d.seconds
		}
		longest = max(longest, d.seconds)
	}
	name := e.heading.name
	switch {
	case elapsedOnly:
		return sure(TimeElapsed, "some of the times cannot be times of day")
	case hasWord(name, "mm:ss") || hasWord(name, "elapsed"):
		return sure(TimeElapsed, "the heading says so")
	case hasWord(name, "utc"), hasWord(name, "clock"), hasWord(name, "uhrzeit"), hasWord(name, "heure"), hasWord(name, "gmt"):
		return sure(TimeClock, "the heading says so")
	case three && first < 600:
		return unsure(TimeElapsed, "the times begin near zero")
	case three:
		return unsure(TimeClock, "the times do not begin near zero")
	case first < 300: // below 5:00, read as minutes and seconds
		return unsure(TimeElapsed, "the times begin near zero; taken as minutes and seconds")
	}
	return unsure(TimeClock, "the times do not begin near zero and are all below 24:00")
}
