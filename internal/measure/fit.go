package measure

import (
	"fmt"
	"sort"
)

// Unfit is a run that takes no part in a comparison, with the reason.
type Unfit struct {
	Index int // in the group given
	Why   string
}

// FitRuns picks the runs of two groups that can be compared with each other at
// all. Where a condition in words differs between runs, but some runs of both
// sides share one, those take part and the others are named; a run below the
// least of a number (a start that was not cold) is named too, as long as the
// side keeps another. What is left is for [CheckFair].
func FitRuns(about About, a, b []Raw) (unfitA, unfitB []Unfit) {
	for _, spec := range about.Fair {
		if spec.Unit == "" {
			word, ok := sharedWord(about, spec, a, b)
			if !ok {
				continue
			}
			unfitA = append(unfitA, otherWord(about, spec, a, word)...)
			unfitB = append(unfitB, otherWord(about, spec, b, word)...)
			continue
		}
		unfitA = append(unfitA, tooLow(about, spec, a)...)
		unfitB = append(unfitB, tooLow(about, spec, b)...)
	}
	return oncePerRun(unfitA, len(a)), oncePerRun(unfitB, len(b))
}

// sharedWord returns the value of a condition that most runs have among those
// that both sides know.
func sharedWord(about About, spec FairSpec, a, b []Raw) (string, bool) {
	countA, countB := words(about, spec, a), words(about, spec, b)
	var shared []string
	for w := range countA {
		if countB[w] > 0 {
			shared = append(shared, w)
		}
	}
	if len(shared) == 0 || len(countA) == 1 && len(countB) == 1 {
		return "", false
	}
	sort.Slice(shared, func(i, j int) bool {
		ni, nj := countA[shared[i]]+countB[shared[i]], countA[shared[j]]+countB[shared[j]]
		return ni > nj || ni == nj && shared[i] < shared[j]
	})
	return shared[0], true
}

// words counts the values of a condition; runs that do not state it are not
// counted.
func words(about About, spec FairSpec, runs []Raw) map[string]int {
	out := map[string]int{}
	for _, r := range runs {
		if w := r.Circumstance(about, spec); w != "" {
			out[w]++
		}
	}
	return out
}

// otherWord lists the runs that state another value.
func otherWord(about About, spec FairSpec, runs []Raw, word string) []Unfit {
	var out []Unfit
	for i, r := range runs {
		if w := r.Circumstance(about, spec); w != "" && w != word {
			out = append(out, Unfit{i, fmt.Sprintf("%s was %s, not %s as in the others", spec.Title, w, word)})
		}
	}
	return out
}

// tooLow lists the runs below the least of a number.
func tooLow(about About, spec FairSpec, runs []Raw) []Unfit {
	if spec.Least == 0 {
		return nil
	}
	var out []Unfit
	for i, r := range runs {
		text := r.Circumstance(about, spec)
		if text == "" {
			continue
		}
		if x, err := ParseNumber(text, spec.Unit); err == nil && x < spec.Least {
			out = append(out, Unfit{i, fmt.Sprintf("%s was only %s, less than the %s needed", spec.Title, showNumber(x, spec.Unit), showNumber(spec.Least, spec.Unit))})
		}
	}
	if len(out) == len(runs) {
		return nil // nothing would be left: CheckFair then says why they cannot be compared
	}
	return out
}

// oncePerRun keeps the first reason of each run, in the order of the runs. A
// group of which nothing would be left keeps all its runs.
func oncePerRun(all []Unfit, n int) []Unfit {
	sort.SliceStable(all, func(i, j int) bool { return all[i].Index < all[j].Index })
	var out []Unfit
	for _, u := range all {
		if len(out) == 0 || out[len(out)-1].Index != u.Index {
			out = append(out, u)
		}
	}
	if len(out) == n {
		return nil
	}
	return out
}
