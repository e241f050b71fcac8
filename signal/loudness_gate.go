package signal

import (
	"math"
	"sort"
)

// loudnessGate gathers mean squares of 10 ms parts into windows and gates them.
type loudnessGate struct {
	momentary, short slidingSum
	loudest, longest float64   // greatest powers of 0.4 s and of 3 s
	blocks, ranges   []float64 // powers of 0.4 s and of 3 s above the absolute gate, every 100 ms
	n                int64
}

// slidingSum is the sum of the last parts.
type slidingSum struct {
	ring []float64
	at   int
	sum  float64
}

// add takes a part; exactly sums anew, so that rounding does not pile up.
func (s *slidingSum) add(part float64, exactly bool) {
	s.sum += part - s.ring[s.at]
	s.ring[s.at] = part
	s.at = (s.at + 1) % len(s.ring)
	if exactly {
		s.sum = 0
		for _, p := range s.ring {
			s.sum += p
		}
	}
}

// add takes the next part: its sum of squares over the frames of 100 ms, channels
// weighted and added.
func (g *loudnessGate) add(part float64) {
	if g.n == 0 {
		g.momentary.ring = make([]float64, momentaryHops*partsInHop)
		g.short.ring = make([]float64, shortTermHops*partsInHop)
	}
	g.n++
	hop := g.n%partsInHop == 0
	g.momentary.add(part, hop)
	g.short.add(part, hop)
	if p := g.momentary.sum / momentaryHops; g.n >= int64(len(g.momentary.ring)) {
		g.loudest = max(g.loudest, p)
		if hop && p > absoluteGatePower {
			g.blocks = append(g.blocks, p)
		}
	}
	if p := g.short.sum / shortTermHops; g.n >= int64(len(g.short.ring)) {
		g.longest = max(g.longest, p)
		if hop && p > absoluteGatePower {
			g.ranges = append(g.ranges, p)
		}
	}
}

var absoluteGatePower = lufsPower(absoluteGate)

func (g *loudnessGate) loudness() (out Loudness) {
	out.HasMomentary, out.HasShortTerm = g.loudest > 0, g.longest > 0
	out.MaxMomentary, out.MaxShortTerm = lufs(g.loudest), lufs(g.longest)
	if power, n := meanAbove(g.blocks, relativeGate); n > 0 {
		out.Integrated, out.HasIntegrated = lufs(power), true
	}
	out.Range, out.HasRange = loudnessRange(g.ranges)
	return out
}

// meanAbove is the mean of the powers above a gate so many LU from the mean of
// all.
func meanAbove(powers []float64, gate float64) (mean float64, n int) {
	threshold := meanOf(powers) * math.Pow(10, gate/10)
	sum := 0.0
	for _, p := range powers {
		if p > threshold {
			sum += p
			n++
		}
	}
	return sum / float64(n), n
}

// loudnessRange is the distance of the 10th and the 95th of a hundred of the
// short-term loudnesses above the gate (EBU Tech 3342); ranks are rounded.
func loudnessRange(powers []float64) (lu float64, ok bool) {
	threshold := meanOf(powers) * math.Pow(10, rangeGate/10)
	var above []float64
	for _, p := range powers {
		if p >= threshold {
			above = append(above, p)
		}
	}
	if len(above) == 0 {
		return 0, false
	}
	sort.Float64s(above)
	rank := func(q float64) float64 { return above[int(q*float64(len(above)-1)+0.5)] }
	return 10 * math.Log10(rank(0.95)/rank(0.1)), true
}
