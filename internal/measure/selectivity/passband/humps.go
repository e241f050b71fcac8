package passband

import (
	"math"
	"sort"
)

// Valley is a dip of the response between two peaks.
type Valley struct {
	Hz           float64 // of the lowest place
	LeftHz       float64 // of the highest place on either side
	RightHz      float64
	Depth, U     float64 // below the lower of the two, dB
	BelowTop     float64 // below the maximum of the response, dB
	at, from, to int     // places of the grid
}

// significant is how many standard uncertainties a valley must be deep not to
// be taken for reading errors: about one false one in a hundred curves of ten
// valleys each.
const significant = 3.3

// Valleys returns the dips of the fitted curve that reading errors do not
// explain, in order of frequency.
func (c *Curve) Valleys() []Valley {
	var out []Valley
	top := maximum(c.DB)
	for i := 1; i < len(c.DB)-1; i++ {
		if c.DB[i] > c.DB[i-1] || c.DB[i] >= c.DB[i+1] {
			continue
		}
		v := c.valley(i)
		v.BelowTop = top - c.DB[i]
		if v.Depth > 0 && v.Depth > significant*v.U {
			out = append(out, v)
		}
	}
	return out
}

// valley measures the dip at a place of the grid, with its scatter over the
// draws at the same three places. The peaks are sought up to where a lower
// valley lies.
func (c *Curve) valley(at int) Valley {
	from, to := at, at
	for i := at; i >= 0 && c.DB[i] >= c.DB[at]; i-- {
		if c.DB[i] > c.DB[from] {
			from = i
		}
	}
	for i := at; i < len(c.DB) && c.DB[i] >= c.DB[at]; i++ {
		if c.DB[i] > c.DB[to] {
			to = i
		}
	}
	depth := func(y []float64) float64 { return math.Min(y[from], y[to]) - y[at] }
	v := Valley{
		Hz: c.Hz[at], LeftHz: c.Hz[from], RightHz: c.Hz[to], Depth: depth(c.DB),
		at: at, from: from, to: to,
	}
	var all []float64
	for _, d := range c.Draws {
		all = append(all, depth(d))
	}
	_, v.U = meanAndSD(all)
	return v
}

// Ripple returns the deepest of the valleys between two places, and whether
// there is one.
func Ripple(valleys []Valley, fromHz, toHz float64) (Valley, bool) {
	var best Valley
	for _, v := range valleys {
		if v.LeftHz >= fromHz && v.RightHz <= toHz && v.Depth > best.Depth {
			best = v
		}
	}
	return best, best.Depth > 0
}

// HiddenRipple returns the depth that a valley between two places may have
// without being told from reading errors: the 95 % point of what the draws
// show.
func (c *Curve) HiddenRipple(fromHz, toHz float64) float64 {
	lo := sort.SearchFloat64s(c.Hz, fromHz)
	hi := sort.SearchFloat64s(c.Hz, toHz)
	var all []float64
	for _, d := range c.Draws {
		all = append(all, deepest(d[lo:min(hi+1, len(d))]))
	}
	if len(all) == 0 {
		return math.NaN()
	}
	return quantile(all, 0.95)
}

// deepest is the largest depth of a valley below the lower of the peaks on
// either side.
func deepest(y []float64) float64 {
	right := make([]float64, len(y))
	top := math.Inf(-1)
	for i := len(y) - 1; i >= 0; i-- {
		top = math.Max(top, y[i])
		right[i] = top
	}
	best := 0.0
	top = math.Inf(-1)
	for i, v := range y {
		top = math.Max(top, v)
		best = math.Max(best, math.Min(top, right[i])-v)
	}
	return best
}

func meanAndSD(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(max(len(x)-1, 1)))
}

// quantile returns the p-quantile of numbers, which it sorts.
func quantile(x []float64, p float64) float64 {
	sort.Float64s(x)
	at := p * float64(len(x)-1)
	i := int(at)
	if i >= len(x)-1 {
		return x[len(x)-1]
	}
	return x[i] + (at-float64(i))*(x[i+1]-x[i])
}
