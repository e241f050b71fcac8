package intake

import (
	"bytes"
	"math"
	"slices"
)

// moments settles the spacing, the start and the order of dates.
func (p *Preview) moments(a *assigner, wanted []ColumnSpec, over Override, comments, preamble []sampleRow) {
	lay := &p.Layout
	c := lay.Column(RoleTime)
	// Times are made up only where there can be no reading without one: a table
	// of levels or settings is no log.
	counted := slices.ContainsFunc(wanted, func(s ColumnSpec) bool {
		return s.ID == RoleTime && (s.Required || c != nil || over.Spacing != "")
	})
	if counted && (c == nil || c.TimeForm.Value == TimeIndex) {
		lay.SpacingS, lay.Spacing = 1, unsure("1 s", "no time is given; one reading a second is the usual counter log")
		if over.Spacing != "" {
			lay.SpacingS, _ = parseSpacing(over.Spacing)
			lay.Spacing = given(over.Spacing)
		}
	}
	if over.Start != "" {
		lay.Start = given(over.Start)
	} else if c != nil && (c.TimeForm.Value == TimeNumber || c.TimeForm.Value == TimeElapsed || c.TimeForm.Value == TimeElapsedHM) {
		lay.Start = startIn(append(slices.Clone(comments), preamble...))
	}
	if m, err := parseStart(lay.Start.Value); err == nil && m.hasDate {
		t := m.stamp.moment()
		lay.StartTime = &t
	}
	for _, c := range lay.Columns {
		if c.Role.Value == RoleTime && c.TimeForm.Value == TimeStamp || c.Role.Value == RoleDate {
			lay.DateOrder = dateOrderOf(a.ev[c.Number-1].cells, over)
		}
	}
}

// startIn looks for a moment of start in the lines above the readings.
func startIn(lines []sampleRow) Guess {
	for _, r := range lines {
		m := startNote.FindSubmatch(r.raw)
		if m == nil {
			continue
		}
		if _, took := scanStamp(m[1], dayFirst, false); took > 0 {
			return unsure(string(m[1][:took]), "line "+itoa(r.line)+" says so")
		}
	}
	return Guess{}
}

// dateOrderOf finds the order of day, month and year: a number above 12 decides.
func dateOrderOf(cells [][]byte, over Override) Guess {
	if over.DateOrder != "" {
		return given(over.DateOrder)
	}
	fits := map[dateOrder]int{}
	forwards := map[dateOrder]bool{}
	for _, o := range []dateOrder{dayFirst, monthFirst} {
		last := int64(math.MinInt64)
		forwards[o] = true
		for _, c := range cells {
			if s, took := scanStamp(c, o, true); took > 0 {
				fits[o]++
				forwards[o] = forwards[o] && s.unix >= last
				last = s.unix
			}
		}
	}
	digits := 0
	if len(cells) > 0 {
		_, digits = scanInt(cells[0])
	}
	yearFirst := digits >= 4
	pointed := len(cells) > 0 && bytes.IndexByte(cells[0][:min(3, len(cells[0]))], '.') > 0
	switch {
	case yearFirst:
		return sure(string(dayFirst), "dates begin with the year")
	case fits[dayFirst] > fits[monthFirst]:
		return sure(string(dayFirst), "only so are all dates possible")
	case fits[monthFirst] > fits[dayFirst]:
		return sure(string(monthFirst), "only so are all dates possible")
	case pointed:
		return sure(string(dayFirst), "dates with points begin with the day")
	case forwards[monthFirst] && !forwards[dayFirst]:
		return unsure(string(monthFirst), "only so does time run forwards")
	}
	return unsure(string(dayFirst), "both orders are possible; the day is taken first")
}
