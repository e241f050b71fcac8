package judge

import (
	"math"
	"strconv"
	"strings"

	"setwright/quantity"
)

// amount writes a number with its unit to three significant digits.
func amount(x float64, unit string) string {
	return amounts(unit, x/10, x)[0]
}

// amounts writes numbers in one scale and with equally many decimals: those that
// give two significant digits of the spread.
func amounts(unit string, spread float64, xs ...float64) []string {
	s := quantity.ScaleFor(xs, unit)
	places := 0
	if w := math.Abs(s.Of(spread)); w > 0 && finite(w) {
		places = min(12, max(0, 1-int(math.Floor(math.Log10(w)))))
	}
	out := make([]string, len(xs))
	for i, x := range xs {
		out[i] = labelled(rounded(s.Of(x), places), s.Label)
	}
	return out
}

// rounded writes a number with so many decimals, less zeros that say nothing,
// with a true minus sign and never −0.
func rounded(x float64, places int) string {
	text := strconv.FormatFloat(x, 'f', places, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		text = "0"
	}
	return strings.Replace(text, "-", "−", 1)
}

func labelled(number, label string) string {
	switch {
	case label == "":
		return number
	case strings.HasPrefix(label, "10"): // a power of ten
		return number + " × " + label
	}
	return number + " " + label
}
