package judge

import (
	"fmt"
	"sort"
)

// leastPairs is the smallest number of pairs judged as pairs: two leave one
// degree of freedom, and judging all runs as independent then tells more.
const leastPairs = 3

// pairUp returns the entries to be judged, pair by pair where the runs were made
// in pairs. The choice rests on how the runs were made, never on what they gave.
// Runs without a partner are left out of a paired judgement and named.
func (v *Verdict) pairUp(as, bs []entry, opt Options) (a, b []entry, paired bool) {
	if opt.Unpaired {
		return as, bs, false
	}
	ka, kb := byPair(as, opt), byPair(bs, opt)
	var ids []string
	for id := range ka {
		if len(ka[id]) == 1 && len(kb[id]) == 1 {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return as, bs, false
	}
	if len(ids) < leastPairs {
		v.say(fmt.Sprintf("Only %s made in pairs: at least %d are needed to judge pair by pair, so the runs are judged as independent.", number(len(ids), "runs each side was", "runs each side were"), leastPairs))
		return as, bs, false
	}
	sort.Strings(ids)
	for _, id := range ids {
		a, b = append(a, ka[id][0]), append(b, kb[id][0])
	}
	v.say(fmt.Sprintf("The runs were made in pairs: the differences of the %d pairs are judged.", len(ids)))
	if out := len(as) + len(bs) - 2*len(ids); out > 0 {
		v.say(fmt.Sprintf("%s without a partner on the other side took no part in this.", number(out, "run", "runs")))
	}
	return a, b, true
}

func byPair(es []entry, opt Options) map[string][]entry {
	out := map[string][]entry{}
	for _, e := range es {
		switch {
		case e.Pair != "":
			out["pair "+e.Pair] = append(out["pair "+e.Pair], e)
		case opt.PairByDay && e.Day != "":
			out["day "+e.Day] = append(out["day "+e.Day], e)
		}
	}
	return out
}

// number writes a count with its noun.
func number(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
