package chart

import (
	"math"
	"strconv"
	"strings"
)

// The signs used in numbers that people read.
const (
	minus     = "\u2212" // true minus
	thinSpace = "\u2009" // between groups of three digits
	times     = "\u00d7"
)

// Number writes v with the given number of decimals the way it is read on a
// chart: true minus, thin spaces between groups of three from 1 000 up, and
// never a minus before a zero.
func Number(v float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', max(decimals, 0), 64)
	whole, fraction, _ := strings.Cut(s, ".")
	out := group(whole)
	if fraction != "" {
		out += "." + fraction
	}
	if v < 0 && strings.Trim(s, "0.") != "" {
		return minus + out
	}
	return out
}

// group puts thin spaces between groups of three digits.
func group(digits string) string {
	var b strings.Builder
	for i, r := range digits {
		if i > 0 && (len(digits)-i)%3 == 0 {
			b.WriteString(thinSpace)
		}
		b.WriteRune(r)
	}
	return b.String()
}

var superscripts = strings.NewReplacer(
	"-", "\u207b", "0", "\u2070", "1", "\u00b9", "2", "\u00b2", "3", "\u00b3", "4", "\u2074",
	"5", "\u2075", "6", "\u2076", "7", "\u2077", "8", "\u2078", "9", "\u2079")

// powerOfTen writes 10 to the power exp with raised digits: "10⁻⁹".
func powerOfTen(exp int) string { return "10" + superscripts.Replace(strconv.Itoa(exp)) }

// pow10 returns 10 to the power exp, correctly rounded where a float64 can
// hold it (multiplying tens together would not be).
func pow10(exp int) float64 { return math.Pow10(exp) }

// exponent returns the decimal exponent of v: 3 for 1 000 to 9 999.9. v must
// be finite and not zero.
func exponent(v float64) int {
	v = math.Abs(v)
	e := int(math.Floor(math.Log10(v)))
	switch { // Log10 of a value just beside a power of ten can round across it
	case pow10(e) > v:
		e--
	case pow10(e+1) <= v:
		e++
	}
	return e
}

// Numbers that can be drawn lie within ±huge, on a log axis above tiny: beyond
// that they come from overflow, not from a bench, and would take the
// arithmetic of the axes with them.
const (
	huge = 1e300
	tiny = 1e-300
)

// finite reports whether v is a number that can be drawn.
func finite(v float64) bool { return math.Abs(v) <= huge }
