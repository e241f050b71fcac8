package quantity

import "math"

// Printer says how quantities are printed. The zero Printer prints for people:
// true minus, ±, µ, no thousands marks.
type Printer struct {
	ASCII bool // +/-, u, ohm, x10^-9, hyphen for minus: for terminals and files
	Group bool // narrow no-break spaces between groups of three from five digits on; never with ASCII
}

// Format prints v, which is in the given unit: "19.3 ± 1.2 min".
//
// The standard uncertainty has two significant digits and the estimate as many
// decimals (GUM 7.2.6, from memory); 0.0996 is 0.10. The prefix is chosen for
// the estimate, or for u where that is larger, and made smaller where kHz, MHz,
// min or h would have more than four decimals. Times are in s, min, h or d by size (from
// two minutes, five hours, two days up). Levels and temperatures are not scaled. An
// exact value has the digits it needs; so has one whose u is below the last bit
// of the estimate. Never −0. What has no value is "undefined". A unit that is
// not known is printed as it is.
func Format(v Value, unit string) string { return Printer{}.Format(v, unit) }

// Format is [Format] in the printer's style.
func (p Printer) Format(v Value, unit string) string {
	if !finite(v.estimate) {
		return undefined
	}
	s := p.scaleOf(v, unit)
	number, both := p.numbers(v, s)
	if both && s.power != 0 {
		number = "(" + number + ")"
	}
	text := p.labelled(number, s)
	if !finite(v.U()) {
		text += " (uncertainty not known)"
	}
	return text
}

// In prints v in a given scale, without its label: a cell of a column.
func (p Printer) In(v Value, s Scale) string {
	if !finite(v.estimate) {
		return undefined
	}
	number, _ := p.numbers(v, s)
	return number
}

// Told prints a number that is only told, without uncertainty, to so many
// significant digits in the scale people read: 1581.3 s to three is "26.4 min".
func (p Printer) Told(x float64, unit string, digits int) string {
	if !finite(x) {
		return undefined
	}
	s := ScaleFor([]float64{x}, unit)
	d, _ := s.decimal(x).significant(max(digits, 1), toNearest)
	return p.labelled(p.digits(d, min(0, d.last())), s)
}

// FormatNumber prints a number without uncertainty with the digits it needs.
func FormatNumber(x float64, unit string) string { return Printer{}.Format(Exact(x), unit) }

// String prints v without a unit.
func (v Value) String() string { return Format(v, "1") }

// undefined is printed for what has no value.
const undefined = "undefined"

// labelled puts the label of the scale behind a number.
func (p Printer) labelled(number string, s Scale) string {
	switch label := p.label(s); {
	case s.power != 0:
		return number + p.times() + label
	case label == "":
		return number
	default:
		return number + " " + label
	}
}

func (p Printer) label(s Scale) string {
	if p.ASCII {
		return s.ASCIILabel
	}
	return s.Label
}

func (p Printer) times() string {
	if p.ASCII {
		return " x "
	}
	return " × "
}

func (p Printer) minus() string {
	if p.ASCII {
		return "-"
	}
	return "−"
}

func (p Printer) group() string {
	if p.Group && !p.ASCII {
		return "\u202F"
	}
	return ""
}

func (p Printer) plusMinus() string {
	if p.ASCII {
		return " +/- "
	}
	return " ± "
}

// numbers prints estimate and u in the scale; both tells whether u is there.
func (p Printer) numbers(v Value, s Scale) (text string, both bool) {
	x, u := s.decimal(v.estimate), v.U()
	if negligible(v.estimate, u) {
		x = needed(x)
		return p.digits(x, min(0, x.last())), false
	}
	if !finite(u) {
		x, place := x.significant(3, toNearest)
		return p.digits(x, place), false
	}
	ud, place := s.decimal(u).significant(2, toNearest)
	return p.digits(x.round(place, toNearest), place) + p.plusMinus() + p.digits(ud, place), true
}

func (p Printer) digits(d decimal, place int) string { return d.text(place, p.minus(), p.group()) }

// negligible reports whether u vanishes beside the last bits of x.
func negligible(x, u float64) bool { return u == 0 || u < 1e-15*math.Abs(x) }

// needed cuts an exact number to 15 digits where it has more: those are errors
// of binary arithmetic.
func needed(d decimal) decimal {
	if len(d.digits) > 15 {
		d, _ = d.significant(15, toNearest)
	}
	return d
}

// scaleOf chooses the scale for one value. Rounding is looked at first: 999.96
// ± 2.0 kHz is 1.0000 ± 0.0020 MHz.
func (p Printer) scaleOf(v Value, unit string) Scale {
	size := math.Abs(v.estimate)
	if u := v.U(); finite(u) {
		size = math.Max(size, u)
	}
	scales := scalesFor(unit)
	best := smallest(scales, size)
	for i := range scales {
		if scales[i].suits(rounded(v, size, scales[i])) {
			best = i
		}
	}
	for best > 0 && tooLong(v, scales[best]) && scales[best].large {
		best--
	}
	return pick(scales, best, size)
}

// rounded returns the size as it will be printed in the scale.
func rounded(v Value, size float64, s Scale) float64 {
	u := v.U()
	if negligible(v.estimate, u) || !finite(u) {
		return size
	}
	_, place := s.decimal(u).significant(2, toNearest)
	return s.decimal(size).round(place, toNearest).float() * s.Factor
}

// tooLong reports more than four decimals.
func tooLong(v Value, s Scale) bool {
	x, u := needed(s.decimal(v.estimate)), v.U()
	if negligible(v.estimate, u) || !finite(u) {
		return x.last() < -4
	}
	_, place := s.decimal(u).significant(2, toNearest)
	return place < -4
}
