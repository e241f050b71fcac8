package signal

import (
	"math"
	"sort"
)

// removeLines replaces what stands out of both sides by more than noise can,
// over no more bins than a line takes through the window. A passband must
// therefore be some dozens of bins wide not to be taken for one.
func (c *shapeFit) removeLines() {
	width := len(c.s.Window.terms()) // of half a line
	least := math.Exp(8*c.single) + 1
	d := append([]float64(nil), c.clean...)
	for i := 1; i+1 < len(d); i++ {
		if d[i] < d[i-1] || d[i] < d[i+1] {
			continue
		}
		left, right := beside(d, i-width-besideBins, i-width), beside(d, i+width+1, i+width+1+besideBins)
		if !(d[i] > least*greater(left, right)) {
			continue
		}
		c.lines = append(c.lines, c.hz(i))
		if math.IsNaN(left) {
			left = right
		}
		if math.IsNaN(right) {
			right = left
		}
		for j := -width; j <= width; j++ { // a straight line between the sides
			if k := i + j; k >= 0 && k < len(d) {
				c.clean[k] = left + (right-left)*float64(j+width)/float64(2*width)
			}
		}
	}
}

const besideBins = 8

// beside is the median of bins from up to to, which neighbouring lines do not
// reach; not a number where there are fewer than three, and then it does not
// count.
func beside(d []float64, from, to int) float64 {
	from, to = max(0, from), min(len(d), to)
	if to-from < 3 {
		return math.NaN()
	}
	s := append([]float64(nil), d[from:to]...)
	sort.Float64s(s)
	return s[len(s)/2]
}

// greater is the greater of two numbers, either of which may not be one.
func greater(a, b float64) float64 {
	switch {
	case math.IsNaN(a):
		return b
	case math.IsNaN(b):
		return a
	}
	return math.Max(a, b)
}

func greatest(x []float64) float64 {
	g := x[0]
	for _, v := range x {
		g = math.Max(g, v)
	}
	return g
}
