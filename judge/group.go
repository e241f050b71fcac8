package judge

import (
	"maps"
	"math"
	"slices"
	"strings"

	"setwright/quantity"
)

// group is one side, or the pairs of both, as a sample: what every named source
// does to its mean, and how much of that the scatter of its runs shows.
type group struct {
	name    string
	entries []entry
	effects []effect // sorted by source id
	noise   float64  // variance between runs that the stated sources predict
	runU2   float64  // mean variance within one run by sources of its own
}

// effect is one source's doing to the mean of a group.
type effect struct {
	quantity.Source
	mean  float64 // c̄, signed
	shown float64 // w, variance of the mean that the scatter shows
}

// newGroup works the entries' sources out. See the package comment for w.
func newGroup(name string, entries []entry) group {
	g := group{name: name, entries: entries}
	n := float64(len(entries))
	sums := map[string]*effect{}
	squares := map[string]float64{}
	for _, e := range entries {
		for _, p := range e.parts {
			f := sums[p.ID]
			if f == nil {
				f = &effect{Source: p.Source}
				sums[p.ID] = f
			}
			f.mean += p.C
			f.DoF = cautious(f.DoF, p.DoF)
			squares[p.ID] += p.C * p.C
			if fromRun(p.ID) {
				g.runU2 += p.C * p.C / n
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(sums)) { // in order, so that sums have the same digits every time
		f := sums[id]
		f.mean /= n
		between := squares[id] - n*f.mean*f.mean
		if n >= 2 && between > 1e-12*squares[id] {
			f.shown = between / (n * (n - 1))
			g.noise += between / (n - 1)
		}
		g.effects = append(g.effects, *f)
	}
	return g
}

// fromRun reports whether a source belongs to one run alone, such as its noise.
func fromRun(id string) bool { return strings.HasPrefix(id, quantity.FromRun+"/") }

// cautious returns the smaller number of degrees of freedom, 0 being infinite.
func cautious(a, b float64) float64 {
	if a <= 0 || (b > 0 && b < a) {
		return b
	}
	return a
}

func (g group) n() int { return len(g.entries) }

// mean returns the mean of x.
func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// variance returns the sample variance of x with divisor n − 1, 0 for one.
func variance(x []float64) float64 {
	if len(x) < 2 {
		return 0
	}
	m, sum := mean(x), 0.0
	for _, v := range x {
		sum += (v - m) * (v - m)
	}
	return sum / float64(len(x)-1)
}

// rest returns the signed contribution of a source that acts by net on a
// result, after what the scatter shows of it.
func rest(net, shown float64) float64 {
	left := net*net - shown
	if left <= 1e-12*net*net {
		return 0
	}
	return math.Copysign(math.Sqrt(left), net)
}
