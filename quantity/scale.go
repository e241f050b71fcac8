package quantity

import "math"

// Scale is the unit in which a number, or a whole column or axis of them, is
// printed: a prefix, minutes for seconds, a power of ten.
type Scale struct {
	Label, ASCIILabel string  // "kHz", "min", "10⁻⁹"; empty for plain numbers
	Factor            float64 // one unit of the label in the unit of the values

	toDecimal func(x float64) decimal
	power     int  // of ten, where the label is one
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
	scales := scalesFor(unit, largest)
	best := smallest(scales, largest)
	for i, s := range scales {
		if s.suits(largest) {
			best = i
		}
	}
	return scales[best]
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
// from 1 up, and times only from two minutes and two hours up.
func (s Scale) suits(size float64) bool {
	least := 1.0
	switch s.Label {
	case "min", "h", "d":
		least = 2
	}
	return math.Abs(s.Of(size)) >= least
}

// scalesFor returns the scales a number of this size may be printed in,
// smallest first. The size matters only for units without prefixes, which get
// a power of ten where the number would be long.
func scalesFor(unit string, size float64) []Scale {
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
	if u.Symbol == "1" && size != 0 && (size < 1e-3 || size >= 1e6) {
		return []Scale{powerScale(newDecimal(size).exp - 1)}
	}
	return []Scale{plainScale(given.label(false), given.label(true))}
}

func plainScale(label, ascii string) Scale {
	return Scale{Label: label, ASCIILabel: ascii, Factor: 1, toDecimal: newDecimal}
}

func powerScale(n int) Scale {
	return Scale{
		Label: "10" + superscript(n), ASCIILabel: "10^" + newDecimal(float64(n)).text(0, "-", ""),
		Factor: decimal{digits: "1", exp: n + 1}.float(), power: n,
		toDecimal: func(x float64) decimal { return newDecimal(x).shift(-n) },
	}
}

// scaleTo returns the scale that prints numbers of the unit m in the unit t.
func (m unitMatch) scaleTo(t unitMatch) Scale {
	s := Scale{Label: t.label(false), ASCIILabel: t.label(true), large: t.exp > 0 || t.unit.Factor > 1}
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

func superscript(n int) string {
	digits := []rune("⁰¹²³⁴⁵⁶⁷⁸⁹")
	var out []rune
	for _, r := range newDecimal(float64(n)).text(0, "-", "") {
		if r == '-' {
			out = append(out, '⁻')
		} else {
			out = append(out, digits[r-'0'])
		}
	}
	return string(out)
}
