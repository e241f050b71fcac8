package quantity

import (
	"fmt"
	"math"
	"strings"
)

// Quantity is a number with its unit as somebody typed it.
type Quantity struct {
	Value      float64 // in the base unit
	Unit       string  // symbol of the base unit: "Hz" for "7065 kc/s"
	Typed      string  // unit as understood: "kHz"
	Qualifier  string  // "emf", "pd", "dc", "ac", "rms", or empty
	Resolution float64 // one unit of the last digit typed, in the base unit: 1000 for "7065k"
	PlusMinus  float64 // what was typed after ±, in the base unit (dB for levels); 0 for none
}

// In returns the value in another unit of the same dimension.
func (q Quantity) In(unit string) (float64, error) { return Convert(q.Value, q.Unit, unit) }

// RectangularU returns the standard uncertainty width/√12 of a quantity known
// only to lie within an interval of this width, such as one unit of the last
// digit (GUM 4.3.7 and F.2.2.1).
func RectangularU(width float64) float64 { return width / math.Sqrt(12) }

// ParseError says what is wrong with a typed quantity and where.
type ParseError struct {
	Text     string // all that was typed
	Pos      int    // character at fault, from 1; one past the end where something is missing
	Found    string // what stands there, empty at the end
	Expected string
	Example  string
}

func (e *ParseError) Error() string {
	found := "nothing more"
	if e.Found != "" {
		found = fmt.Sprintf("%q", e.Found)
	}
	if e.Found == e.Text {
		return fmt.Sprintf("found %s, expected %s, for example %q", found, e.Expected, e.Example)
	}
	return fmt.Sprintf("%q, character %d: found %s, expected %s, for example %q", e.Text, e.Pos, found, e.Expected, e.Example)
}

// Notation says how numbers are written where it is known, as in a column of a
// file. The zero Notation decides for each number and refuses what could be two
// things.
type Notation struct {
	Decimal rune // '.' or ','; the other one is then a thousands mark
}

// Parse reads a quantity as people write it:
//
//	7.065 MHz   7065 kc/s   -73 dBm   50 µV emf   0,1 µF   2k2   4R7   1.2e-9
//	14m20s   1h30   14:20   2:14:20   7.065 MHz ± 2 Hz   (1.2 ± 0.3) × 10⁻⁹
//
// A dot alone is a decimal sign. A comma alone is one too, unless it could be a
// thousands mark: 1,234 is refused, 0,123 and 12,5 and 1,234,567 are clear.
// Thousands may be parted by (thin) spaces or apostrophes. A colon makes a time:
// mm:ss (h:mm where hours are wanted) or h:mm:ss. Minus may be a hyphen, a dash or a true minus sign.
//
// Case is taken as written where it makes sense. Otherwise it is set right where
// there is one reading only (khz, DBM, MHZ); "7 mhz", which could be mega or
// milli, is refused. So are mohm and mf, which old manuals use for mega and micro. Without a wanted unit a
// lone prefix (7065k) and a lone m are refused; 2k2 and 4R7 are resistances (IEC
// 60062, from memory). A lone number has the unit 1.
func Parse(text string) (Quantity, error) { return Notation{}.Parse(text) }

// ParseAs reads a quantity of which the wanted unit is known: the field or the
// column says "kHz". The value comes in the base unit: Hz; also s for min and 1
// for %, [Quantity.In] gives another. A number without
// unit is in the wanted unit. A lone prefix means that prefix of the wanted
// unit: 7065k is 7065 kHz where any frequency is wanted, m is minutes where a
// time is wanted and milli where a voltage is. A count must be whole, so that
// 1,234 is clear. Units of another dimension are refused.
func ParseAs(text, unit string) (Quantity, error) { return Notation{}.ParseAs(text, unit) }

// Parse is [Parse] in a known notation.
func (n Notation) Parse(text string) (Quantity, error) { return n.parse(text, nil) }

// ParseAs is [ParseAs] in a known notation.
func (n Notation) ParseAs(text, unit string) (Quantity, error) {
	u, exp, err := LookupUnit(unit)
	if err != nil {
		return Quantity{}, err
	}
	return n.parse(text, &unitMatch{u, exp})
}

func (n Notation) parse(text string, wanted *unitMatch) (Quantity, error) {
	s, err := newScanner(text, wanted)
	if err != nil {
		return Quantity{}, err
	}
	s.notation = n
	if s.end() {
		return Quantity{}, s.fail("a number with its unit")
	}
	if wanted == nil || wanted.unit.Dimension == "time" {
		if q, ok, err := s.time(); ok || err != nil {
			return q, err
		}
	}
	p, err := s.phrase()
	if err != nil {
		return Quantity{}, err
	}
	return s.quantity(p)
}

// phrase is what a quantity is made of before units are looked at.
type phrase struct {
	number, plusMinus numeral
	hasPlusMinus      bool
	unit, pmUnit      word
}

// word is a piece of text with its place.
type word struct {
	text string
	pos  int
}

// phrase reads: number [unit] [± number [unit]], or (number ± number) [unit].
func (s *scanner) phrase() (p phrase, err error) {
	inside := s.accept("(")
	if p.number, err = s.numeral(); err != nil {
		return p, err
	}
	p.unit = s.word()
	if s.accept("±") || s.accept("+/-") || s.accept("+-") {
		p.hasPlusMinus = true
		if p.plusMinus, err = s.numeral(); err != nil {
			return p, err
		}
		p.pmUnit = s.word()
	}
	if inside {
		if err = s.closing(&p); err != nil {
			return p, err
		}
	}
	if !s.end() {
		return p, s.fail("the end, or ± and a number")
	}
	return p, nil
}

// closing reads ") [× 10ⁿ] [unit]", which goes for both numbers.
func (s *scanner) closing(p *phrase) error {
	if !s.accept(")") {
		return s.fail("a closing bracket")
	}
	n, err := s.timesTenTo()
	if err != nil {
		return err
	}
	p.number.exp += n
	p.plusMinus.exp += n
	if unit := s.word(); unit.text != "" {
		if p.unit.text != "" || p.pmUnit.text != "" {
			return s.failAt(unit.pos, unit.text, "one unit, inside or outside the brackets")
		}
		p.unit = unit
	}
	return nil
}

// quantity resolves the units of a phrase.
func (s *scanner) quantity(p phrase) (Quantity, error) {
	if p.unit.text == "" && s.unitForBoth(p) {
		p.unit = p.pmUnit
	}
	m, qualifier, err := s.resolve(p.unit, p.number)
	if err != nil {
		return Quantity{}, err
	}
	q := Quantity{Qualifier: qualifier, Typed: m.label(false)}
	q.Value = m.unit.toBase(p.number.decimal().shift(m.exp))
	q.Resolution = m.step(decimal{digits: "1", exp: p.number.exp + 1})
	if q, err = s.toWanted(q, m, p); err != nil {
		return Quantity{}, err
	}
	if p.hasPlusMinus {
		if q.PlusMinus, err = s.plusMinus(p, m, q.Value); err != nil {
			return Quantity{}, err
		}
	}
	if !finite(q.Value) || !finite(q.Resolution) || !finite(q.PlusMinus) {
		return Quantity{}, s.failAt(0, strings.TrimSpace(s.original), "a number below 1e308")
	}
	return q, nil
}

// unitForBoth reports whether the unit after ± is also that of the number: so
// in 19.3 ± 1.2 min, but not in 2k2 ± 10 %.
func (s *scanner) unitForBoth(p phrase) bool {
	relative := len(matchUnits(normalSymbol(p.pmUnit.text), "ratio", false)) > 0
	return p.number.infix == "" && !(relative && s.wanted != nil && s.wanted.unit.Dimension != "ratio")
}

// toWanted sets the base unit, and turns kelvin into a wanted °C.
func (s *scanner) toWanted(q Quantity, m unitMatch, p phrase) (Quantity, error) {
	q.Unit = baseUnit(m.unit.Dimension).Symbol
	if s.wanted == nil {
		return q, nil
	}
	if w := s.wanted.unit.Dimension; w == "temperature" && m.unit.Symbol == "K" {
		q.Value -= 273.15
		q.Unit = baseUnit(w).Symbol
	}
	if s.wanted.unit.Dimension == "count" && p.number.exp < 0 {
		return q, s.failAt(p.number.pos, p.number.text, "a whole number")
	}
	return q, nil
}

// plusMinus returns what stands after ± in base units. It may have the unit of
// the quantity, that of a difference (dB for dBm), or per cent of the value.
func (s *scanner) plusMinus(p phrase, m unitMatch, value float64) (float64, error) {
	if p.plusMinus.infix != "" || p.number.infix != "" && p.pmUnit.text == "" {
		return 0, s.failAt(p.plusMinus.pos, p.plusMinus.text, "a number with its unit after ±")
	}
	if p.plusMinus.neg {
		return 0, s.failAt(p.plusMinus.pos, p.plusMinus.text, "a number without sign after ±")
	}
	d := p.plusMinus.decimal()
	if p.pmUnit.text == "" || p.pmUnit == p.unit {
		return m.step(d), nil
	}
	text := normalSymbol(p.pmUnit.text)
	if m.unit.Dimension != "ratio" {
		if found := matchUnits(text, "ratio", false); len(found) > 0 && m.unit.Delta == "" {
			return math.Abs(value) * found[0].unit.toBase(d), nil
		}
	}
	for _, u := range matchUnits(text, "", false) {
		if u.unit.Dimension == m.unit.Dimension || u.unit.Symbol == m.unit.Delta {
			return u.step(d), nil
		}
	}
	return 0, s.failAt(p.pmUnit.pos, p.pmUnit.text, "a unit of "+m.unit.Dimension+" after ±, or %")
}

// step converts a difference to the base unit: without offset.
func (m unitMatch) step(d decimal) float64 {
	u := m.unit
	u.Offset = 0
	return u.toBase(d.shift(m.exp))
}
