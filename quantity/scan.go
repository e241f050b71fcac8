package quantity

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// longest is how many characters a typed quantity may have.
const longest = 200

// scanner walks over a typed quantity, one character of which is one rune both
// in the original and in the form made uniform.
type scanner struct {
	original string
	runes    []rune
	pos      int
	wanted   *unitMatch
	notation Notation
}

func newScanner(text string, wanted *unitMatch) (*scanner, error) {
	s := &scanner{original: text, wanted: wanted}
	if utf8.RuneCountInString(text) > longest {
		s.original = string([]rune(text)[:20]) + "…"
		return nil, s.failAt(longest, "still more text", fmt.Sprintf("at most %d characters", longest))
	}
	for i, r := range text {
		if _, n := utf8.DecodeRuneInString(text[i:]); r == utf8.RuneError && n == 1 {
			return nil, s.failAt(len(s.runes), text[i:i+1], "text in UTF-8")
		}
		s.runes = append(s.runes, uniform(r))
	}
	return s, nil
}

// uniform maps characters that look or mean the same to one.
func uniform(r rune) rune {
	switch r {
	case '\u2212', '\u2013', '\u2012', '\u2011', '\u2010', '\uFE63': // minus, dashes, hyphens
		return '-'
	case '\u2019', '\u02BC', '\u2018', '\u00B4': // apostrophes
		return '\''
	case '\u03BC': // Greek mu
		return '\u00B5' // micro sign
	case '\u2126': // ohm sign
		return '\u03A9' // Greek omega
	case '\u212A': // kelvin sign
		return 'K'
	case '\u22C5', '\u2219': // multiplication dots
		return '\u00B7'
	}
	if unicode.IsSpace(r) || unicode.Is(unicode.Zs, r) {
		return ' '
	}
	return r
}

// normalSymbol makes a unit symbol uniform and takes the spaces out.
func normalSymbol(text string) string {
	var b strings.Builder
	for _, r := range text {
		if r = uniform(r); r != ' ' {
			b.WriteRune(r)
		}
	}
	return b.String()
}

func (s *scanner) skipSpace() {
	for s.pos < len(s.runes) && s.runes[s.pos] == ' ' {
		s.pos++
	}
}

// end skips spaces and reports whether nothing is left.
func (s *scanner) end() bool {
	s.skipSpace()
	return s.pos == len(s.runes)
}

// at returns the rune n places on, 0 beyond the end.
func (s *scanner) at(n int) rune {
	if s.pos+n < len(s.runes) {
		return s.runes[s.pos+n]
	}
	return 0
}

func (s *scanner) digit(n int) bool { return s.at(n) >= '0' && s.at(n) <= '9' }

// accept skips spaces and then token, if it stands there.
func (s *scanner) accept(token string) bool {
	s.skipSpace()
	want := []rune(token)
	for i, r := range want {
		if s.at(i) != r {
			return false
		}
	}
	s.pos += len(want)
	return true
}

// word reads on to the next ±, bracket or the end: a unit.
func (s *scanner) word() word {
	s.skipSpace()
	start := s.pos
	for s.pos < len(s.runes) {
		if r := s.at(0); r == '±' || r == ')' || r == '(' || r == '+' {
			break
		}
		s.pos++
	}
	return word{strings.TrimRight(string(s.runes[start:s.pos]), " "), start}
}

// fail reports what stands at the present place.
func (s *scanner) fail(expected string) error {
	return s.failAt(s.pos, string(s.runes[s.pos:]), expected)
}

func (s *scanner) failAt(pos int, found, expected string) error {
	return &ParseError{Text: s.original, Pos: pos + 1, Found: strings.TrimSpace(found), Expected: expected, Example: s.example()}
}

// example shows a quantity of the wanted kind.
func (s *scanner) example() string {
	if s.wanted == nil {
		return "7.065 MHz"
	}
	if e, ok := examples[s.wanted.unit.Dimension]; ok {
		return e
	}
	return strings.TrimSpace("1.5 " + s.wanted.label(false))
}

var examples = map[string]string{
	"frequency": "7.065 MHz", "time": "14m20s", "capacitance": "0.1 µF", "resistance": "2k2",
	"voltage": "50 µV", "level re 1 mW": "-73 dBm", "count": "12", "temperature": "21 °C",
}

// numeral is a number as typed: digits without marks, times 10^exp.
type numeral struct {
	neg    bool
	digits string
	exp    int    // power of ten of the last digit
	infix  string // the letter of 2k2 or 4R7
	text   string
	pos    int
}

func (n numeral) decimal() decimal { return trimmed(n.neg, n.digits, len(n.digits)+n.exp) }

// numeral reads a number: sign, digits with marks, a letter for the decimal
// sign, a power of ten.
func (s *scanner) numeral() (n numeral, err error) {
	s.skipSpace()
	n.pos = s.pos
	switch {
	case s.accept("-"):
		n.neg = true
	case s.accept("+"):
	}
	s.skipSpace()
	if s.at(0) == 'R' && s.digit(1) { // R47
		n.digits = "0"
	} else if err = s.mantissa(&n); err != nil {
		return n, err
	}
	s.letterForPoint(&n)
	if n.infix == "" {
		exp, err := s.power()
		if err != nil {
			return n, err
		}
		n.exp += exp
	}
	n.text = strings.TrimSpace(string(s.runes[n.pos:s.pos]))
	return n, nil
}

// letterForPoint reads the k and 2 of 2k2 (IEC 60062, from memory).
func (s *scanner) letterForPoint(n *numeral) {
	if n.exp != 0 || !strings.ContainsRune("pnuµmkKMGR", s.at(0)) || s.at(0) == 0 || !s.digit(1) {
		return
	}
	n.infix = string(s.at(0))
	s.pos++
	for s.digit(0) {
		n.digits += string(s.at(0))
		n.exp--
		s.pos++
	}
}

// power reads e-9, E6, or × 10⁻⁹.
func (s *scanner) power() (int, error) {
	if r := s.at(0); r == 'e' || r == 'E' {
		if s.digit(1) || (s.at(1) == '-' || s.at(1) == '+') && s.digit(2) {
			s.pos++
			return s.exponent()
		}
	}
	return s.timesTenTo()
}

var superscripts = strings.NewReplacer("⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5",
	"⁶", "6", "⁷", "7", "⁸", "8", "⁹", "9", "⁻", "-", "⁺", "+")

// timesTenTo reads "× 10⁻⁹" or "x10^-9", if it stands there.
func (s *scanner) timesTenTo() (int, error) {
	back := s.pos
	if !(s.accept("×") || s.accept("x") || s.accept("*") || s.accept("·")) || !s.accept("10") {
		s.pos = back
		return 0, nil
	}
	s.accept("^")
	for i := s.pos; i < len(s.runes) && strings.ContainsRune("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", s.runes[i]); i++ {
		s.runes[i] = []rune(superscripts.Replace(string(s.runes[i])))[0]
	}
	return s.exponent()
}

func (s *scanner) exponent() (int, error) {
	start := s.pos
	if s.at(0) == '-' || s.at(0) == '+' {
		s.pos++
	}
	for s.digit(0) {
		s.pos++
	}
	text := string(s.runes[start:s.pos])
	n, err := strconv.Atoi(text)
	if err != nil || n < -400 || n > 400 {
		return 0, s.failAt(start, text, "a power of ten between -400 and 400")
	}
	return n, nil
}
