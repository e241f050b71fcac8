package quantity

import (
	"math"
	"strconv"
	"strings"
)

// decimal is a number in decimal digits, ±0.d₁d₂d₃... × 10^exp, without zeros
// at either end; no digits is zero. People type and read decimal numbers:
// moving the point and rounding are done on their digits, so that 0.35 rounds
// as on paper and a prefix costs no last bit.
type decimal struct {
	neg    bool
	digits string
	exp    int
}

// newDecimal returns the shortest decimal that reads back as x. x is finite.
func newDecimal(x float64) decimal {
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(math.Abs(x), 'e', -1, 64), "e")
	exp, _ := strconv.Atoi(exponent) // FormatFloat always writes one
	return trimmed(x < 0, strings.Replace(mantissa, ".", "", 1), exp+1)
}

func trimmed(neg bool, digits string, exp int) decimal {
	rest := strings.TrimLeft(digits, "0")
	exp -= len(digits) - len(rest)
	rest = strings.TrimRight(rest, "0")
	if rest == "" {
		return decimal{}
	}
	return decimal{neg, rest, exp}
}

// shift returns d·10ⁿ.
func (d decimal) shift(n int) decimal {
	if d.digits != "" {
		d.exp += n
	}
	return d
}

// float returns the nearest float64, an infinity where d is too large.
func (d decimal) float() float64 {
	if d.digits == "" {
		return 0
	}
	x, _ := strconv.ParseFloat("0."+d.digits+"e"+strconv.Itoa(d.exp), 64)
	if d.neg {
		return -x
	}
	return x
}

// last returns the power of ten of the last digit, 0 for zero.
func (d decimal) last() int { return d.exp - len(d.digits) }

// Ways to round.
const (
	toNearest = iota // half away from zero, as on paper
	downward
	upward
)

// round rounds to a multiple of 10^place.
func (d decimal) round(place, how int) decimal {
	keep := d.exp - place
	if d.digits == "" || keep >= len(d.digits) {
		return d
	}
	up := how == toNearest && keep >= 0 && d.digits[keep] >= '5' ||
		how == upward && !d.neg || how == downward && d.neg
	if keep < 0 {
		keep = 0
	}
	kept := []byte("0" + d.digits[:keep])
	if up {
		i := len(kept) - 1
		for ; kept[i] == '9'; i-- {
			kept[i] = '0'
		}
		kept[i]++
	}
	return trimmed(d.neg, string(kept), place+len(kept))
}

// significant rounds to n digits and returns the place of the last of them
// after rounding: 0.0996 to two digits is 0.10, place −2.
func (d decimal) significant(n, how int) (decimal, int) {
	r := d.round(d.exp-n, how)
	return r, r.exp - n
}

// text writes d with max(0, −place) decimals. d has no digits beyond place.
func (d decimal) text(place int, minus, group string) string {
	decimals := max(0, -place)
	digits := d.digits
	if d.exp < 0 {
		digits = strings.Repeat("0", -d.exp) + digits
	}
	whole := max(0, d.exp)
	if digits == "" {
		whole = 0
	}
	if missing := whole + decimals - len(digits); missing > 0 {
		digits += strings.Repeat("0", missing)
	}
	out := grouped(digits[:whole], group)
	if out == "" {
		out = "0"
	}
	if decimals > 0 {
		out += "." + digits[whole:whole+decimals]
	}
	if d.neg {
		out = minus + out
	}
	return out
}

// grouped puts mark between groups of three in numbers of five digits and more
// (four digits stand together, ISO 80000-1 7.3.1 permits it, from memory).
func grouped(digits, mark string) string {
	if mark == "" || len(digits) < 5 {
		return digits
	}
	var b strings.Builder
	for i, r := range digits {
		if i > 0 && (len(digits)-i)%3 == 0 {
			b.WriteString(mark)
		}
		b.WriteRune(r)
	}
	return b.String()
}
