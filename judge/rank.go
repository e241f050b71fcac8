package judge

import (
	"fmt"
	"math"
)

// RankCheck is the rank-sum test (Mann and Whitney 1947) that assumes no form
// of distribution: shown beside a verdict, never in place of it, because it is
// no cure for unequal spread and says nothing of amounts.
type RankCheck struct {
	U        float64 `json:"u"`        // pairs in which b is the larger, ties by half
	P        float64 `json:"p"`        // two-sided; exact without ties, an upper estimate with them
	Needed   int     `json:"needed"`   // least number of runs a side with which it could show anything at 5 %
	Sentence string  `json:"sentence"` // in words
}

// RankSum compares two groups of numbers without assuming a distribution. For
// two groups of three even complete separation has p = 0.1, so that it says "no
// difference shown; at least 4 readings on each side are needed".
func RankSum(a, b []float64) RankCheck {
	r := RankCheck{P: 1, Needed: leastForRanks()}
	if len(a) > 0 && len(b) > 0 {
		r.U = countU(a, b)
		r.P = rankP(r.U, len(a), len(b))
	}
	r.Sentence = r.words(len(a), len(b))
	return r
}

func (r RankCheck) words(na, nb int) string {
	if r.P < alpha {
		return "a difference is shown by ranks"
	}
	if rankP(0, na, nb) >= alpha && na > 0 && nb > 0 || na == 0 || nb == 0 {
		return fmt.Sprintf("no difference shown; at least %d readings on each side are needed", r.Needed)
	}
	return "no difference shown"
}

// leastForRanks is the smallest n for which complete separation of n against n
// is significant: 2/C(2n, n) < 0.05.
func leastForRanks() int {
	n := 1
	for rankP(0, n, n) >= alpha {
		n++
	}
	return n
}

func countU(a, b []float64) float64 {
	u := 0.0
	for _, x := range a {
		for _, y := range b {
			switch {
			case y > x:
				u++
			case y == x:
				u += 0.5
			}
		}
	}
	return u
}

// mostExact is the largest number of readings in all that is counted exactly.
const mostExact = 60

// rankP returns the two-sided p of U: twice the smaller tail of the exact
// distribution without ties, or of the normal with continuity correction where
// there are many readings.
func rankP(u float64, na, nb int) float64 {
	if na == 0 || nb == 0 {
		return 1
	}
	all := float64(na * nb)
	low := math.Ceil(math.Min(u, all-u)) // ties rounded against a difference
	if na+nb > mostExact {
		sd := math.Sqrt(all * float64(na+nb+1) / 12)
		return math.Min(1, 2*upperTail((all/2-low-0.5)/sd, math.Inf(1)))
	}
	ways := rankWays(na, nb)
	sum, below := 0.0, 0.0
	for k, w := range ways {
		sum += w
		if float64(k) <= low {
			below += w
		}
	}
	return math.Min(1, 2*below/sum)
}

// rankWays counts the orders of na and nb readings that give each U, by the
// recurrence ways(a, b, u) = ways(a−1, b, u−b) + ways(a, b−1, u).
func rankWays(na, nb int) []float64 {
	table := make([][]float64, nb+1)
	for b := range table {
		table[b] = []float64{1}
	}
	for a := 1; a <= na; a++ {
		next := make([][]float64, nb+1)
		next[0] = []float64{1}
		for b := 1; b <= nb; b++ {
			w := make([]float64, a*b+1)
			for u, x := range table[b] {
				w[u+b] += x
			}
			for u, x := range next[b-1] {
				w[u] += x
			}
			next[b] = w
		}
		table = next
	}
	return table[nb]
}

// rankCheck puts the rank test beside a verdict on exact values.
func (v *Verdict) rankCheck(m *model) {
	if m.paired || !m.allExact() {
		return
	}
	x := m.places()
	r := RankSum(x[0], x[1])
	v.Rank = &r
}
