package judge

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// Apart is a run that stands apart from the others of its side. It is named,
// never dropped.
type Apart struct {
	Side   string  `json:"side"`
	Run    string  `json:"run"`
	Label  string  `json:"label,omitempty"`
	Value  float64 `json:"value"`
	Others float64 `json:"others"` // mean of the runs that do not stand apart
}

// leastForApart is the smallest number of runs on a side among which one can be
// said to stand apart.
const leastForApart = 4

// standApart names runs that stand apart, and says where the verdict turns
// without them.
func (v *Verdict) standApart(m *model, c Criterion, opt Options) {
	var keep [2][]entry
	gone := map[int]bool{}
	for s, g := range m.sides {
		for _, i := range slices.Sorted(maps.Keys(outlying(g.entries, g.noise))) {
			gone[i*2+s] = true
			v.Apart = append(v.Apart, g.apart(i))
		}
	}
	if len(v.Apart) == 0 {
		return
	}
	for s, g := range m.sides {
		for i, e := range g.entries {
			if !gone[i*2+s] && !(m.paired && gone[i*2+1-s]) {
				keep[s] = append(keep[s], e)
			}
		}
	}
	for _, a := range v.Apart {
		v.say(fmt.Sprintf("%s stands apart from the other runs of %s (%s against %s); it is not left out.",
			Observation{Run: a.Run, Label: a.Label}.title(), a.Side, amount(a.Value, v.Unit), amount(a.Others, v.Unit)))
	}
	v.judgeWithout(m, keep, c, opt)
}

// judgeWithout puts the verdict without the runs that stand apart beside the
// one with them, where its word is another.
func (v *Verdict) judgeWithout(m *model, keep [2][]entry, c Criterion, opt Options) {
	if len(keep[0]) == 0 || len(keep[1]) == 0 || (m.paired && len(keep[0]) < leastPairs) {
		return
	}
	w := newModel(c, m.names, keep[0], keep[1], opt, m.paired)
	margin, _, ok := w.margin(c)
	if !ok || !w.hasScatter() {
		return
	}
	s := w.judgeDifference(margin)
	if word := s.word(c.Better); word != v.Word {
		v.Without = &Without{Word: word, Difference: w.at(difference, w.places())}
		v.say(fmt.Sprintf("Without what stands apart the verdict would be %q. Find out what was different that day before trusting either.", string(word)))
	}
}

// apart describes entry i of the group.
func (g group) apart(i int) Apart {
	e := g.entries[i]
	var others []float64
	out := outlying(g.entries, g.noise)
	for j, o := range g.entries {
		if !out[j] {
			others = append(others, o.at)
		}
	}
	return Apart{Side: g.name, Run: e.Run, Label: e.Label, Value: e.at, Others: mean(others)}
}

// outlying returns the indices of exact entries that stand apart, by Rosner's
// generalised extreme studentised deviate at 5 % a side, for at most a quarter
// of the runs (at least one). For one candidate it is Grubbs' test. The scatter
// is not taken below what the runs' own noise predicts. Side with bounds or
// intervals, or with fewer than four runs: none.
func outlying(es []entry, noise float64) map[int]bool {
	for _, e := range es {
		if !e.exact() {
			return nil
		}
	}
	if len(es) < leastForApart {
		return nil
	}
	return extremes(numbers(es), noise)
}

// rosner is the critical value of the i-th of n readings (Rosner 1983):
//
//	λᵢ = (n−i)·t / √((n−i−1+t²)(n−i+1)), t = t(1 − α/(2(n−i+1)); n−i−1)
func rosner(n, i int) float64 {
	l := float64(n - i)
	t := quantile(1-alpha/(2*(l+1)), l-1)
	return l * t / math.Sqrt((l-1+t*t)*(l+1))
}

// extremes is Rosner's rule on numbers.
func extremes(x []float64, noise float64) map[int]bool {
	n := len(x)
	order, left := []int{}, map[int]bool{}
	for i := range x {
		left[i] = true
	}
	found := 0
	for i := 1; i <= max(1, n/4); i++ {
		worst, r := farthest(x, left, noise)
		if r > rosner(n, i) {
			found = i
		}
		order = append(order, worst)
		delete(left, worst)
	}
	out := map[int]bool{}
	for _, i := range order[:found] {
		out[i] = true
	}
	return out
}

// farthest returns the index left that is farthest from the mean of those left,
// and its distance in standard deviations.
func farthest(x []float64, left map[int]bool, noise float64) (index int, r float64) {
	var y []float64
	var at []int
	for i := range x {
		if left[i] {
			y, at = append(y, x[i]), append(at, i)
		}
	}
	m, s := mean(y), math.Sqrt(math.Max(variance(y), noise))
	if s == 0 {
		return at[0], 0
	}
	for j, v := range y {
		if d := math.Abs(v-m) / s; d > r {
			index, r = at[j], d
		}
	}
	return index, r
}
