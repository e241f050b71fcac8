package quantity

import (
	"fmt"
	"strconv"
	"strings"
	"sync"
)

// Unit is a unit of measurement, one row of the table in unittable.go.
// A number x in it is Factor·x + Offset in the base unit of its dimension.
type Unit struct {
	Symbol    string // as printed: "Hz", "µV" is V with a prefix
	ASCII     string // where it differs from Symbol
	Dimension string // "frequency"; units of one dimension can be converted
	Factor    float64
	Offset    float64
	Prefixes  string   // the SI prefixes it is used with, from "pnµmkMGT"
	Names     []string // other ways in which people write it
	Delta     string   // unit of a difference or uncertainty, where it is another one (dB of dBm)
	mTrap     string   // what to write where m could be taken for mega or micro
}

// LookupUnit returns the unit with this symbol or name and the power of ten of
// its prefix: 3 for "kHz". The empty symbol is the unit 1.
func LookupUnit(symbol string) (Unit, int, error) {
	if symbol == "" {
		symbol = "1"
	}
	found := matchUnits(normalSymbol(symbol), "", false)
	if len(found) == 0 {
		return Unit{}, 0, fmt.Errorf("unit %q is not known; those known are %s", symbol, strings.Join(UnitSymbols(), ", "))
	}
	return found[0].unit, found[0].exp, nil
}

// UnitSymbols returns the symbols of all known units, without prefixes.
func UnitSymbols() []string {
	symbols := make([]string, len(units))
	for i, u := range units {
		symbols[i] = u.Symbol
	}
	return symbols
}

// Convert converts a number from one unit to another of the same dimension;
// both may have prefixes. Temperatures are converted as points of the scale,
// not as differences.
func Convert(x float64, from, to string) (float64, error) {
	f, fexp, err := LookupUnit(from)
	if err != nil {
		return 0, err
	}
	t, texp, err := LookupUnit(to)
	if err != nil {
		return 0, err
	}
	if f.Dimension != t.Dimension {
		return 0, fmt.Errorf("%s is a %s, %s a %s: they can't be converted", from, f.Dimension, to, t.Dimension)
	}
	return fromBase(f.toBase(newDecimal(x).shift(fexp)), t, texp), nil
}

// toBase converts a decimal number of u to the base unit. Powers of ten move
// the decimal point, so that 7.065 MHz is 7065000 Hz to the last bit.
func (u Unit) toBase(d decimal) float64 {
	if n, ok := powerOfTen(u.Factor); ok {
		return d.shift(n).float() + u.Offset
	}
	return d.float()*u.Factor + u.Offset
}

func fromBase(x float64, u Unit, exp int) float64 {
	if u.Offset != 0 {
		x -= u.Offset
	}
	if n, ok := powerOfTen(u.Factor); ok {
		return newDecimal(x).shift(-n - exp).float()
	}
	return newDecimal(x / u.Factor).shift(-exp).float()
}

// powerOfTen returns n where x is 10ⁿ as written in decimal.
func powerOfTen(x float64) (n int, ok bool) {
	text := strconv.FormatFloat(x, 'e', -1, 64)
	exponent, found := strings.CutPrefix(text, "1e")
	if !found {
		return 0, false
	}
	n, err := strconv.Atoi(exponent)
	return n, err == nil
}

// prefix is an SI prefix as written; letter is its place in Unit.Prefixes.
type prefix struct {
	text   string
	letter string
	exp    int
}

var (
	prefixes = []prefix{
		{"p", "p", -12}, {"n", "n", -9}, {"µ", "µ", -6}, {"u", "µ", -6}, {"m", "m", -3},
		{"k", "k", 3}, {"K", "k", 3}, {"M", "M", 6}, {"G", "G", 9}, {"T", "T", 12},
		{"pico", "p", -12}, {"nano", "n", -9}, {"micro", "µ", -6}, {"milli", "m", -3},
		{"kilo", "k", 3}, {"kil", "k", 3}, {"mega", "M", 6}, {"meg", "M", 6}, {"giga", "G", 9},
	}
	// foldedPrefixes are taken when the case of a unit is wrong anyway. M is
	// never milli.
	foldedPrefixes = append([]prefix{{"P", "p", -12}, {"N", "n", -9}, {"U", "µ", -6}, {"g", "G", 9}}, prefixes...)
)

// unitMatch is a unit with the power of ten of its prefix.
type unitMatch struct {
	unit Unit
	exp  int
}

// label returns the symbol with its prefix.
func (m unitMatch) label(ascii bool) string {
	symbol, letter := m.unit.Symbol, prefixLetter(m.exp)
	if symbol == "1" || symbol == "count" {
		return ""
	}
	if !ascii {
		return letter + symbol
	}
	if m.unit.ASCII != "" {
		symbol = m.unit.ASCII
	}
	switch {
	case letter == "µ":
		letter = "u"
	case letter == "m" && symbol == "ohm": // mohm could be meant for megohm
		letter = "milli"
	}
	return letter + symbol
}

func prefixLetter(exp int) string {
	for _, p := range prefixes {
		if p.exp == exp {
			return p.letter
		}
	}
	return ""
}

// matchUnits returns all ways to read text as prefix and unit; with a dimension
// only those of it; with fold without regard to case.
func matchUnits(text, dimension string, fold bool) []unitMatch {
	var found []unitMatch
	if !fold {
		for _, m := range exactIndex()[text] {
			if dimension == "" || m.unit.Dimension == dimension {
				found = append(found, m)
			}
		}
		return found
	}
	for _, u := range units {
		if dimension != "" && u.Dimension != dimension {
			continue
		}
		for _, name := range u.names() {
			if strings.EqualFold(text, name) {
				found = append(found, unitMatch{unit: u})
			} else if p, ok := u.folded(text, name); ok {
				found = append(found, unitMatch{u, p.exp})
			}
		}
	}
	return found
}

// exactIndex holds all units as they are written properly, with and without
// prefixes.
var exactIndex = sync.OnceValue(func() map[string][]unitMatch {
	index := map[string][]unitMatch{}
	for _, u := range units {
		for _, name := range u.names() {
			index[name] = append(index[name], unitMatch{unit: u})
			for _, p := range prefixes {
				if u.takes(p, name) {
					index[p.text+name] = append(index[p.text+name], unitMatch{u, p.exp})
				}
			}
		}
	}
	return index
})

func (u Unit) names() []string {
	names := append([]string{u.Symbol}, u.Names...)
	if u.ASCII != "" {
		names = append(names, u.ASCII)
	}
	return names
}

func same(a, b string, fold bool) bool {
	return a == b || fold && strings.EqualFold(a, b)
}

// takes reports whether p may stand before this name of u. Where m is a trap it
// counts only before the proper symbol.
func (u Unit) takes(p prefix, name string) bool {
	return strings.Contains(u.Prefixes, p.letter) && !(p.text == "m" && u.mTrap != "" && name != u.Symbol)
}

// folded reads text, in whatever case, as a prefix of u followed by name.
func (u Unit) folded(text, name string) (prefix, bool) {
	if len(text) <= len(name) || !strings.EqualFold(text[len(text)-len(name):], name) {
		return prefix{}, false
	}
	before, after := text[:len(text)-len(name)], text[len(text)-len(name):]
	for _, p := range foldedPrefixes {
		if same(before, p.text, len(p.text) > 2) && u.takes(p, after) {
			return p, true
		}
	}
	return prefix{}, false
}
