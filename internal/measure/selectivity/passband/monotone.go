package passband

// flanks makes responses fall without a rise from the outermost humps to the
// ends of the curve, as skirts do that have no notch: the nearest such curve by
// least squares (pool adjacent violators; Barlow and others 1972, from memory).
func (c *Curve) flanks(y []float64, left, right limits) {
	w := c.weights()
	if left.apply {
		fall(y[:peakIn(y, left)+1], w, false)
	}
	if right.apply {
		p := peakIn(y, right)
		fall(y[p:], w[p:], true)
	}
}

// limits is where the peak that ends a flank is sought, and whether the flank
// is to be smoothed at all.
type limits struct {
	from, to int
	apply    bool
}

func peakIn(y []float64, l limits) int {
	best := l.from
	for i := l.from; i <= l.to; i++ {
		if y[i] > y[best] {
			best = i
		}
	}
	return best
}

// weights are the distances between the places of the grid on the warped scale.
func (c *Curve) weights() []float64 {
	n := len(c.Hz)
	w := make([]float64, n)
	for i := range w {
		lo, hi := max(i-1, 0), min(i+1, n-1)
		w[i] = c.warp(c.Hz[hi]) - c.warp(c.Hz[lo])
	}
	return w
}

// fall replaces y by the nearest sequence that rises, or falls, throughout.
func fall(y, w []float64, down bool) {
	type block struct {
		mean, weight float64
		n            int
	}
	sign := 1.0
	if down {
		sign = -1
	}
	var blocks []block
	for i, v := range y {
		blocks = append(blocks, block{sign * v, w[i], 1})
		for k := len(blocks) - 1; k > 0 && blocks[k-1].mean > blocks[k].mean; k-- {
			a, b := blocks[k-1], blocks[k]
			total := a.weight + b.weight
			blocks[k-1] = block{(a.mean*a.weight + b.mean*b.weight) / total, total, a.n + b.n}
			blocks = blocks[:k]
		}
	}
	i := 0
	for _, b := range blocks {
		for range b.n {
			y[i] = sign * b.mean
			i++
		}
	}
}
