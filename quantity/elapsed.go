package quantity

import (
	"math"
	"strconv"
	"strings"
)

// Elapsed prints a time in seconds as people say it, where the last digit does
// not matter: "47.5 s", "30 min 10 s", "2 h 8 min", "38 h", "5 d 3 h". It
// is cut to whole seconds from two minutes up, to minutes from two hours, to hours
// from a day.
func (p Printer) Elapsed(seconds float64) string {
	size := math.Abs(seconds)
	switch {
	case !finite(seconds):
		return undefined
	case size < 119.5:
		return p.Told(seconds, "s", 3)
	case seconds < 0:
		return p.minus() + p.Elapsed(size)
	case math.Round(size) < 2*3600:
		return inTwo(math.Round(size), 60, "min", "s")
	case math.Round(size/60) < 24*60:
		return inTwo(math.Round(size/60), 60, "h", "min")
	case math.Round(size/3600) < 4*24:
		return inTwo(math.Round(size/3600), 1, "h", "")
	}
	return inTwo(math.Round(size/3600), 24, "d", "h")
}

// inTwo prints a whole number of small units in large ones and the rest.
func inTwo(n, ratio float64, large, small string) string {
	rest := math.Mod(n, ratio)
	parts := []string{whole((n - rest) / ratio), large}
	if rest > 0 {
		parts = append(parts, whole(rest), small)
	}
	return strings.Join(parts, " ")
}

func whole(x float64) string { return strconv.FormatFloat(x, 'f', 0, 64) }
