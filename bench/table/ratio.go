package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// round holds one run of each side, one after the other, and for a net ratio
// one of each with nothing to do.
type round struct {
	ours, theirs         usage
	oursIdle, theirsIdle usage
}

// ratio is ours over theirs: the middle of each side's runs, and the lowest
// and highest of the rounds.
type ratio struct {
	middle, low, high float64
}

// median returns the middle of some numbers, the mean of the middle two of an
// even count, NaN of none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(x))
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// ratioOf compares the sides by what side takes from a run. With net each
// side's middle start-up is taken off first.
func ratioOf(rounds []round, net bool, side func(usage) float64) ratio {
	var ours, theirs, oursIdle, theirsIdle []float64
	for _, r := range rounds {
		ours, theirs = append(ours, side(r.ours)), append(theirs, side(r.theirs))
		oursIdle, theirsIdle = append(oursIdle, side(r.oursIdle)), append(theirsIdle, side(r.theirsIdle))
	}
	var offOurs, offTheirs float64
	if net {
		offOurs, offTheirs = median(oursIdle), median(theirsIdle)
	}
	out := ratio{middle: over(median(ours)-offOurs, median(theirs)-offTheirs), low: math.Inf(1), high: math.Inf(-1)}
	for i := range rounds {
		r := over(ours[i]-offOurs, theirs[i]-offTheirs)
		out.low, out.high = min(out.low, r), max(out.high, r)
	}
	return out
}

// over divides; it is NaN where the denominator is not positive: the tool's
// work drowned in its start-up.
func over(a, b float64) float64 {
	if b <= 0 {
		return math.NaN()
	}
	return max(0, a) / b
}

// What a ratio is taken of.
func cpuSeconds(u usage) float64  { return u.cpu.Seconds() }
func wallSeconds(u usage) float64 { return u.wall.Seconds() }

// middlePeak is the middle of one side's peaks.
func middlePeak(rounds []round, theirs bool) float64 {
	var all []float64
	for _, r := range rounds {
		if theirs {
			all = append(all, r.theirs.peak)
		} else {
			all = append(all, r.ours.peak)
		}
	}
	return median(all)
}

// met judges a figure against an aim by its middle, and says where some round
// came out on the other side.
func met(r ratio, aim float64) string {
	switch {
	case math.IsNaN(r.middle):
		return "cannot tell"
	case r.middle <= aim && r.high <= aim:
		return "yes"
	case r.middle <= aim:
		return "yes, not in every round"
	case r.low > aim:
		return "NO"
	}
	return "NO, but in some round"
}

// digits writes a ratio with three digits, and no more than three decimals.
func digits(x float64) string {
	switch {
	case math.IsNaN(x):
		return "?"
	case x >= 100:
		return fmt.Sprintf("%.0f", x)
	case x >= 10:
		return fmt.Sprintf("%.1f", x)
	case x >= 1:
		return fmt.Sprintf("%.2f", x)
	}
	return fmt.Sprintf("%.3f", x)
}

// missingLine says why there is no ratio.
func missingLine(missing []string) string {
	verb := "is"
	if len(missing) > 1 {
		verb = "are"
	}
	return "not compared: " + strings.Join(missing, " and ") + " " + verb + " missing"
}
