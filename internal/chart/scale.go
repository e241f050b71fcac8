package chart

import (
	"math"
	"slices"
	"strings"

	"setwright/internal/measure"
)

// scale turns the data of one axis into places from 0 to 1 and says what is
// written along it. Places are counted from the low end.
type scale struct {
	log     bool
	lo, hi  float64 // ends, in data units less the offset
	offset  float64
	ticks   []Tick // values in data units less the offset
	minor   []Tick
	titles  []string // what the axis shows, the fullest wording first
	dropped int      // values at or below zero that a log axis cannot show
}

// pos returns the place of a data value; NaN where it has none.
func (s *scale) pos(v float64) float64 { return s.posOff(v - s.offset) }

func (s *scale) posOff(v float64) float64 {
	if s.log {
		if v < tiny {
			return math.NaN()
		}
		return (math.Log10(v) - math.Log10(s.lo)) / (math.Log10(s.hi) - math.Log10(s.lo))
	}
	return (v/2 - s.lo/2) / (s.hi/2 - s.lo/2) // halves: the range may overflow
}

// extent is the range of the values seen so far.
type extent struct {
	lo, hi  float64
	any     bool
	dropped int
}

func (e *extent) add(v float64, log bool) {
	if !finite(v) {
		return
	}
	if log && v < tiny {
		e.dropped++
		return
	}
	if math.Abs(v) < tiny {
		v = 0
	}
	if !e.any {
		e.lo, e.hi, e.any = v, v, true
	}
	e.lo, e.hi = min(e.lo, v), max(e.hi, v)
}

// widened returns the extent with room around it, never empty: identical
// values get room of a twentieth of their size, or 1 around zero.
func (e extent) widened(log bool, room float64) (lo, hi float64) {
	if !e.any {
		if log {
			return 1, 10
		}
		return 0, 1
	}
	if log {
		f := max(math.Pow(e.hi/e.lo, room), 1.05)
		if e.hi/e.lo < 1+1e-9 {
			f = 2
		}
		lo, hi = e.lo/f, e.hi*f
		return lo, hi
	}
	half := room * (e.hi/2 - e.lo/2) * 2
	if size := max(math.Abs(e.lo), math.Abs(e.hi)); e.hi/2-e.lo/2 <= size*1e-12 {
		half = size / 20
		if size == 0 {
			half = 1
		}
	}
	return e.lo - half, e.hi + half
}

// newScale chooses scale and ticks of an axis for values from lo to hi (less
// the axis's own offset).
func newScale(a measure.Axis, lo, hi float64, most int) *scale {
	s := &scale{log: a.Log, lo: lo, hi: hi, offset: a.Offset}
	switch {
	case a.Log:
		s.ticks, s.minor = LogTicks(lo, hi, most)
		s.titles = axisTitles(a, a.Unit, "")
	case a.Unit == "s" && asClockTime(lo, hi):
		s.timeTicks(a, most)
	default:
		s.linearTicks(a, most)
	}
	return s
}

// asClockTime reports whether seconds from lo to hi are read in min and h:
// not split seconds, not ages of the earth, and not a few seconds counted from
// a far-off moment.
func asClockTime(lo, hi float64) bool {
	size := max(math.Abs(lo), math.Abs(hi))
	return hi-lo >= 1 && size < 1e11 && size/(hi-lo) < 1e4
}

// blank takes the numbers off an axis that has no data.
func (s *scale) blank() { s.ticks, s.minor = nil, nil }

func (s *scale) timeTicks(a measure.Axis, most int) {
	u := unitForSpan(s.hi - s.lo)
	_, s.ticks = TimeTicks(s.lo, s.hi, most)
	if rest, ok := strings.CutPrefix(a.Label, "time"); ok && a.OffsetLabel == "" {
		s.titles = []string{u.word + rest, u.sign + rest}
		return
	}
	s.titles = axisTitles(a, u.word, "")
}

// linearTicks sets ticks in the prefix people read. Values that would need
// many digits to be told apart (a few Hz in 7 MHz) are counted from a round
// value named in the title instead.
func (s *scale) linearTicks(a measure.Axis, most int) {
	named := ""
	if a.Offset != 0 {
		named = offsetName(a.Offset, s.lo, s.hi, most, a.Unit)
	} else if base, decimals := roundBase(s.lo, s.hi); base != 0 {
		s.offset, s.lo, s.hi = base, s.lo-base, s.hi-base
		a.OffsetLabel = "from " + withUnit(Number(base, decimals), a.Unit)
	}
	factor, unit := readable(a.Unit, max(math.Abs(s.lo), math.Abs(s.hi)))
	for _, t := range LinearTicks(s.lo/factor, s.hi/factor, most) {
		s.ticks = append(s.ticks, Tick{t.Value * factor, t.Label})
	}
	s.titles = axisTitles(a, unit, named)
}

// roundBase returns a round value below lo to count from, and its decimals,
// where telling lo from hi takes more than seven digits; otherwise zero.
func roundBase(lo, hi float64) (base float64, decimals int) {
	span, size := hi-lo, max(math.Abs(lo), math.Abs(hi))
	if span <= 0 || size/span < 2e5 || size > 1e15 {
		return 0, 0
	}
	s := step{1, exponent(span) + 1}
	return s.at(math.Floor(lo / s.size())), -s.e
}

// offsetName writes the value an axis is counted from, to the digits of the
// axis's own step.
func offsetName(v, lo, hi float64, most int, unit string) string {
	if lo >= hi {
		return ""
	}
	return withUnit(Number(v, min(-niceStep(lo, hi, max(most, 2)).e, 9)), unit)
}

func withUnit(number, unit string) string {
	if unit == "" || unit == "1" {
		return number
	}
	return number + "\u00a0" + unit
}

// prefixed lists the units that take SI prefixes. Others (dB, °C, Hz/h) are
// written as they are.
var prefixed = []string{"Hz", "V", "A", "W", "Ω", "F", "H", "s", "m"}

var prefixes = map[int]string{
	-15: "f", -12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G", 12: "T",
}

// readable returns the factor and the unit in which values up to `largest`
// are read: as they are from 0.1 to below 10 000; else with an SI prefix
// where the unit takes one, or as a multiple of a power of ten.
func readable(unit string, largest float64) (factor float64, text string) {
	bare := unit
	if bare == "1" {
		bare = ""
	}
	if largest == 0 || largest >= 0.1 && largest < 1e4 {
		return 1, bare
	}
	e := int(math.Floor(float64(exponent(largest))/3)) * 3
	if p, ok := prefixes[e]; ok && slices.Contains(prefixed, unit) {
		return pow10(e), p + unit
	}
	if largest >= 1e-3 && largest < 1e6 {
		return 1, bare
	}
	return pow10(e), strings.TrimSpace(powerOfTen(e) + " " + bare)
}

// axisTitles words an axis: label, unit, what it is counted from and that
// value; then shorter wordings for narrow pictures.
func axisTitles(a measure.Axis, unit, named string) []string {
	if unit == "1" {
		unit = ""
	}
	from := strings.TrimSpace(unit + " " + a.OffsetLabel)
	if a.OffsetLabel == "" && named != "" {
		from = strings.TrimSpace(unit + " from " + named)
		named = ""
	}
	full := from
	if a.Label != "" && from != "" {
		full = a.Label + ", " + from
	} else if from == "" {
		full = a.Label
	}
	var out []string
	if named != "" {
		out = append(out, full+" ("+named+")")
	}
	out = append(out, full)
	if from != "" && from != full {
		out = append(out, from)
	}
	return out
}
