package quantity

import (
	"math"
	"strconv"
	"strings"
)

// Scale is the unit in which a number, or a whole column or axis of them, is
// printed: a prefix, minutes for seconds, a power of ten.
type Scale struct {
	Label, ASCIILabel string  // "kHz", "min", "10⁻⁹"; empty for plain numbers
	Factor            float64 // one unit of the label in the unit of the values

	toDecimal func(x float64) decimal
	power     int  // of ten, where the label is one
	bare      bool // the unit without prefix
	large     bool // a multiple of the unit as such: kHz, min
}

// decimal returns x in the scale; the zero Scale leaves it as it is.
func (s Scale) decimal(x float64) decimal {
	if s.toDecimal == nil {
		return newDecimal(x)
	}
	return s.toDecimal(x)
}

// Of returns x, finite or not, in this scale.
func (s Scale) Of(x float64) float64 {
	if !finite(x) {
		return x
	}
	return s.decimal(x).float()
}

// ScaleFor returns the scale that suits all the values, which are in the given
// unit: that of the largest of them. What is not finite is left out. A unit
// that is not known is its own scale.
func ScaleFor(values []float64, unit string) Scale {
	largest := 0.0
	for _, x := range values {
		if finite(x) {
			largest = math.Max(largest, math.Abs(x))
		}
	}
	scales := scalesFor(unit)
	best := smallest(scales, largest)
	for i, s := range scales {
		if s.suits(largest) {
			best = i
		}
	}
	return pick(scales, best, largest)
}

// pick returns a scale of the list, or where a number of this size would be long
// in it, a power of ten of the unit without prefix: for plain numbers from a
// million up and below a thousandth, for others from 10⁹ up and below 10⁻⁶.
func pick(scales []Scale, best int, size float64) Scale {
	s, least, most := scales[best], 1e-6, 1e9
	if s.Label == "" {
		least, most = 1e-3, 1e6
	}
	if x := s.Of(size); x == 0 || x >= least && x < most {
		return s
	}
	for _, bare := range scales {
		if bare.bare {
			s = bare
		}
	}
	return s.timesTenTo(s.decimal(size).exp - 1)
}

// timesTenTo puts a power of ten before the label.
func (s Scale) timesTenTo(n int) Scale {
	plain := s.decimal
	s.Label = strings.TrimSpace("10" + superscript(n) + " " + s.Label)
	s.ASCIILabel = strings.TrimSpace("10^" + strconv.Itoa(n) + " " + s.ASCIILabel)
	s.Factor *= decimal{digits: "1", exp: n + 1}.float()
	s.power = n
	s.toDecimal = func(x float64) decimal { return plain(x).shift(-n) }
	return s
}

// smallest returns the index of the scale to begin with: the first, or for
// nought that of the unit itself.
func smallest(scales []Scale, size float64) int {
	for i, s := range scales {
		if size == 0 && s.Factor == 1 {
			return i
		}
	}
	return 0
}

// suits reports whether a number of this size may be printed in the scale:
// from 1 up, and times only from two minutes, five hours and two days up. A
// warm-up is spoken of in minutes: 124 ± 3 min beside 80 ± 1 min.
func (s Scale) suits(size float64) bool {
	least := 1.0
	switch s.Label {
	case "min", "d":
		least = 2
	case "h":
		least = 5
	}
	return math.Abs(s.Of(size)) >= least
}

// scalesFor returns the scales a number in this unit may be printed in, smallest
// first.
func scalesFor(unit string) []Scale {
	u, exp, err := LookupUnit(unit)
	if err != nil {
		return []Scale{plainScale(unit, unit)}
	}
	given := unitMatch{u, exp}
	switch {
	case u.Dimension == "time":
		return timeScales(given)
	case u.Symbol == "1/K":
		ppm, _, _ := LookupUnit("ppm/K")
		return []Scale{given.scaleTo(unitMatch{unit: ppm})}
	case u.Prefixes != "":
		return prefixScales(given)
	}
	return []Scale{plainScale(given.label(false), given.label(true))}
}

func plainScale(label, ascii string) Scale {
	return Scale{Label: label, ASCIILabel: ascii, Factor: 1, toDecimal: newDecimal}
}

// scaleTo returns the scale that prints numbers of the unit m in the unit t.
func (m unitMatch) scaleTo(t unitMatch) Scale {
	s := Scale{Label: t.label(false), ASCIILabel: t.label(true), bare: t.exp == 0 && t.unit.Factor == 1, large: t.exp > 0 || t.unit.Factor > 1}
	from, fromOK := powerOfTen(m.unit.Factor)
	to, toOK := powerOfTen(t.unit.Factor)
	if m.unit.Symbol == t.unit.Symbol || fromOK && toOK {
		n := from + m.exp - to - t.exp // from and to are 0 where they are no powers of ten
		s.toDecimal = func(x float64) decimal { return newDecimal(x).shift(n) }
		s.Factor = decimal{digits: "1", exp: 1 - n}.float()
		return s
	}
	s.toDecimal = func(x float64) decimal {
		return newDecimal(m.unit.toBase(newDecimal(x).shift(m.exp)) / t.unit.Factor).shift(-t.exp)
	}
	one := decimal{digits: "1", exp: 1}
	s.Factor = t.step(one) / m.step(one)
	return s
}

func prefixScales(given unitMatch) []Scale {
	var scales []Scale
	for _, exp := range []int{-12, -9, -6, -3, 0, 3, 6, 9, 12} {
		letter := prefixLetter(exp)
		if exp < -3 && strings.HasPrefix(given.unit.Symbol, "Hz") {
			continue // nobody reads a microhertz: 0.53 mHz
		}
		if exp == 0 || containsPrefix(given.unit, letter) {
			scales = append(scales, given.scaleTo(unitMatch{given.unit, exp}))
		}
	}
	return scales
}

func containsPrefix(u Unit, letter string) bool {
	for _, r := range u.Prefixes {
		if string(r) == letter {
			return true
		}
	}
	return false
}

func timeScales(given unitMatch) []Scale {
	var scales []Scale
	for _, exp := range []int{-12, -9, -6, -3, 0} {
		scales = append(scales, given.scaleTo(unitMatch{baseUnit("time"), exp}))
	}
	for _, symbol := range []string{"min", "h", "d"} {
		u, _, _ := LookupUnit(symbol)
		scales = append(scales, given.scaleTo(unitMatch{unit: u}))
	}
	return scales
}

var toSuperscript = strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴",
	"5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")

func superscript(n int) string { return toSuperscript.Replace(strconv.Itoa(n)) }
