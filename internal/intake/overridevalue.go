package intake

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

func aliasOf(value string, aliases map[string]string) string {
	v := strings.ToLower(value)
	if a, ok := aliases[v]; ok {
		return a
	}
	return v
}

func oneOf(into *string, name, value string, allowed []string) error {
	if !slices.Contains(allowed, value) {
		return fmt.Errorf("%s %q: expected one of %s", name, value, strings.Join(allowed, ", "))
	}
	*into = value
	return nil
}

// setColumn reads "2=frequency:kHz".
func (o *Override) setColumn(value string) error {
	number, rest, ok := strings.Cut(value, "=")
	n, err := strconv.Atoi(strings.TrimSpace(number))
	if !ok || err != nil || n < 1 || n > maxColumns {
		return fmt.Errorf("column %q: expected NUMBER=ROLE or NUMBER=ROLE:UNIT, as in 2=frequency:kHz", value)
	}
	role, what, _ := strings.Cut(rest, ":")
	c := ColumnOverride{Role: strings.TrimSpace(role)}
	what = strings.TrimSpace(what)
	if c.Role == "" {
		return fmt.Errorf("column %q: expected a role after the =, as in 2=frequency", value)
	}
	switch {
	case c.Role == RoleTime && what != "":
		if c.TimeForm, c.Unit, err = timeOverride(what); err != nil {
			return err
		}
	case what != "":
		if _, known := lookUpUnit(what, ""); !known {
			return fmt.Errorf("column %q: there is no unit %q", value, what)
		}
		c.Unit = what
	}
	if o.Columns == nil {
		o.Columns = map[int]ColumnOverride{}
	}
	o.Columns[n] = c
	return nil
}

// timeOverride tells a form of time from a unit of time.
func timeOverride(value string) (form, unitName string, err error) {
	if _, ok := timeForms[value]; ok {
		return value, "", nil
	}
	if _, ok := lookUpUnit(value, "s"); ok {
		return TimeNumber, value, nil
	}
	return "", "", fmt.Errorf("time %q: expected a unit (seconds, minutes, hours) or a form (elapsed, elapsed_hm, clock, stamp, unix, unix_ms, index)", value)
}

// parseSpacing reads the time between readings: "1s", "0.5 s", "1 min"; a bare
// number is seconds.
func parseSpacing(value string) (float64, error) {
	b := []byte(value)
	d, took := scanElapsed(b, false)
	if !whole(b, took) {
		num, w := scanNumber(b, numFormat{decimal: '.'}, 0)
		if rest := strings.TrimSpace(value[w:]); w > 0 && rest != "" {
			if u, ok := lookUpUnit(rest, "s"); ok {
				num.value *= u.scale()
				rest = ""
			}
			if rest != "" {
				w = 0
			}
		}
		d.seconds, took = num.value, w
	}
	if took == 0 || d.seconds <= 0 {
		return 0, fmt.Errorf("spacing %q: expected a time above zero, as in 1s or 0.5s", value)
	}
	return d.seconds, nil
}

// startMoment is the zero of times: a date and time, or a time of day.
type startMoment struct {
	stamp   stamp
	clock   float64
	hasDate bool
}

// parseStart reads "2024-05-01 19:00" or "19:00".
func parseStart(value string) (startMoment, error) {
	b := []byte(value)
	if s, took := scanStamp(b, dayFirst, false); whole(b, took) {
		clock := float64((s.unix+int64(s.offset))%86400) + s.fraction
		return startMoment{stamp: s, clock: clock, hasDate: true}, nil
	}
	if c, took := scanClock(b); whole(b, took) {
		return startMoment{clock: c.seconds}, nil
	}
	return startMoment{}, fmt.Errorf("start %q: expected a moment, as in 2024-05-01 19:00 or 19:00:30", value)
}

// moment is the stamp as a time; local where no zone was given is shown as UTC.
func (s stamp) moment() time.Time {
	t := time.Unix(s.unix, int64(s.fraction*1e9+0.5)).UTC()
	if s.zoned && s.offset != 0 {
		t = t.In(time.FixedZone("", s.offset))
	}
	return t
}
