package soundinput

import (
	"iter"
	"maps"
	"slices"
)

func median(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}

func keysOf[V any](m map[int]V) iter.Seq[int] { return maps.Keys(m) }
