package signal

import "slices"

// lowest reorders x so that its first k numbers are the k least, in no order
// (C. A. R. Hoare, Comm. ACM 4 (1961) 321).
func lowest(x []float64, k int) {
	for len(x) > 16 {
		// The middle of three, so that a sorted series is no bad case.
		m := len(x) / 2
		a, b, c := x[0], x[m], x[len(x)-1]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := 0, len(x)-1
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			x = x[:j+1]
		case k > i:
			x, k = x[i:], k-i
		default:
			return
		}
	}
	slices.Sort(x)
}

// slidingMedian keeps a window of numbers in order while it moves.
type slidingMedian struct{ sorted []float64 }

func (m *slidingMedian) put(v float64) {
	at, _ := slices.BinarySearch(m.sorted, v)
	m.sorted = slices.Insert(m.sorted, at, v)
}

func (m *slidingMedian) drop(v float64) {
	if at, ok := slices.BinarySearch(m.sorted, v); ok {
		m.sorted = slices.Delete(m.sorted, at, at+1)
	}
}

// middle is the upper of the middle two where the number is even.
func (m *slidingMedian) middle() float64 { return m.sorted[len(m.sorted)/2] }
