package intake

import (
	"math"
	"strconv"
)

// numFormat is how numbers are written: the decimal mark and the thousands mark
// (0: none). Blanks and apostrophes between groups of three are understood
// wherever they cannot be separators, see spaced.
type numFormat struct {
	decimal   byte
	thousands byte
	spaced    bool // no-break and plain blanks, and apostrophes, may part thousands
}

// number is one number as it was typed.
type number struct {
	value    float64 // × 10^shift
	decimals int     // digits after the mark, less the exponent; negative: whole tens ...
}

// resolution is the size of the last digit typed, × 10^shift.
func (n number) resolution(shift int) float64 { return math.Pow10(shift - n.decimals) }

var pow10tab = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// scanNumber reads a number at the start of b, times 10^shift, and returns how
// many bytes it took; 0 when there is none. The result is the float64 nearest
// to the decimal text: mantissas below 2^53 with powers up to 10^22 need one
// exact operation, anything else goes through strconv.
func scanNumber(b []byte, f numFormat, shift int) (number, int) {
	i, negative := scanSign(b)
	start := i
	var mantissa uint64
	for i < len(b) && b[i]-'0' <= 9 {
		mantissa = mantissa*10 + uint64(b[i]-'0')
		i++
	}
	digits := i - start
	if i < len(b) && digits >= 1 && digits <= 3 && b[i] != f.decimal &&
		(f.thousands != 0 && b[i] == f.thousands || f.spaced && (b[i] == ' ' || b[i] == '\'' || b[i] >= 0x80)) {
		if n, took := scanGrouped(b, f, shift); took > 0 {
			return n, took
		}
	}
	decimals := 0
	if i < len(b) && b[i] == f.decimal {
		j := i + 1
		for j < len(b) && b[j]-'0' <= 9 {
			mantissa = mantissa*10 + uint64(b[j]-'0')
			j++
		}
		decimals = j - i - 1
		i = j
	}
	if digits+decimals == 0 {
		return number{}, 0
	}
	exponent, took := scanExponent(b[i:])
	i += took
	n := number{decimals: decimals - exponent}
	power := shift - n.decimals
	if digits+decimals > 19 || mantissa >= 1<<53 || power < -22 || power > 22 {
		return scanSlow(b[start:i-took], n, f.decimal, shift+exponent, negative, i)
	}
	v := float64(mantissa)
	if power < 0 {
		v /= pow10tab[-power]
	} else {
		v *= pow10tab[power]
	}
	if negative {
		v = -v
	}
	n.value = v
	return n, i
}

// scanSign reads a sign: plus, minus, or the true minus sign.
func scanSign(b []byte) (int, bool) {
	switch {
	case len(b) > 0 && b[0] == '-':
		return 1, true
	case len(b) > 0 && b[0] == '+':
		return 1, false
	case len(b) > 2 && b[0] == 0xe2 && b[1] == 0x88 && b[2] == 0x92:
		return 3, true
	}
	return 0, false
}

// scanExponent reads "e-3" or "E+05"; an "e" without digits is no exponent.
func scanExponent(b []byte) (exponent, took int) {
	if len(b) < 2 || b[0]|0x20 != 'e' {
		return 0, 0
	}
	i, negative := scanSign(b[1:])
	i++
	start := i
	for i < len(b) && b[i]-'0' <= 9 {
		if exponent < 100000 {
			exponent = exponent*10 + int(b[i]-'0')
		}
		i++
	}
	if i == start {
		return 0, 0
	}
	if negative {
		exponent = -exponent
	}
	return exponent, i
}

// scanSlow converts digits that one exact operation cannot: too many of them,
// or too large a power of ten. A result that overflows is no number.
func scanSlow(digits []byte, n number, decimal byte, power int, negative bool, took int) (number, int) {
	var room [96]byte
	buf := room[:0]
	if negative {
		buf = append(buf, '-')
	}
	for _, c := range digits {
		if c == decimal {
			c = '.'
		}
		buf = append(buf, c)
	}
	buf = append(buf, 'e')
	buf = strconv.AppendInt(buf, int64(power), 10)
	v, err := strconv.ParseFloat(string(buf), 64)
	if err != nil && math.IsInf(v, 0) {
		return number{}, 0
	}
	n.value = v
	return n, took
}

// scanGrouped reads a number with thousands marks: one to three digits, then
// groups of exactly three, then perhaps decimals.
func scanGrouped(b []byte, f numFormat, shift int) (number, int) {
	var room [64]byte
	buf := room[:0]
	i, _ := scanSign(b)
	buf = append(buf, b[:i]...)
	for i < len(b) && b[i]-'0' <= 9 {
		buf = append(buf, b[i])
		i++
	}
	groups := 0
	mark, _ := groupMark(b[i:], f)
	for {
		m, width := groupMark(b[i:], f)
		if width == 0 || m != mark || !threeDigits(b[i+width:]) {
			break
		}
		buf = append(buf, b[i+width:i+width+3]...)
		i += width + 3
		groups++
	}
	if groups == 0 {
		return number{}, 0
	}
	head := len(buf)
	j := i
	for j < len(b) && (b[j]-'0' <= 9 || b[j] == f.decimal || b[j]|0x20 == 'e' || b[j] == '-' || b[j] == '+') {
		j++
	}
	buf = append(buf, b[i:j]...)
	n, took := scanNumber(buf, numFormat{decimal: f.decimal}, shift)
	if took < head {
		return number{}, 0
	}
	return n, i + took - head
}

// groupMark tells which thousands mark stands at the start of b and its width.
func groupMark(b []byte, f numFormat) (mark rune, width int) {
	if len(b) == 0 {
		return 0, 0
	}
	if f.thousands != 0 && b[0] == f.thousands {
		return rune(b[0]), 1
	}
	if !f.spaced {
		return 0, 0
	}
	switch {
	case b[0] == ' ' || b[0] == '\'':
		return rune(b[0]), 1
	case len(b) > 1 && b[0] == 0xc2 && b[1] == 0xa0: // no-break space
		return 0xa0, 2
	case len(b) > 2 && b[0] == 0xe2 && b[1] == 0x80 && (b[2] == 0xaf || b[2] == 0x89 || b[2] == 0x99): // thin spaces, ’
		return 0x2000 | rune(b[2]), 3
	}
	return 0, 0
}

// threeDigits says that exactly three digits stand at the start of b.
func threeDigits(b []byte) bool {
	return len(b) >= 3 && b[0]-'0' <= 9 && b[1]-'0' <= 9 && b[2]-'0' <= 9 && (len(b) == 3 || b[3]-'0' > 9)
}
