package passband

import "math"

// Strange is a reading that the others do not expect where it is.
type Strange struct {
	Point
	OffDB  float64 // reading less what the others say
	Sigmas float64
}

// strangeAt is by how many standard uncertainties a reading must be off, and
// leastStrange by how many decibels, to be pointed out.
const strangeAt, leastStrange = 5, 1

// most is the number of readings up to which each one is held against the
// others.
const mostForStrange = 100

// Strange holds every reading against the curve of all others, fitted anew
// without it, and returns those that are far off. The outermost readings, which
// nothing holds on one side, and long tables are not looked at.
func (c *Curve) Strange() []Strange {
	nodes := c.pointNodes(c.Slope)
	if len(nodes) > mostForStrange || len(nodes) < LeastPoints+2 {
		return nil
	}
	var out []Strange
	worst := Strange{}
	for i := 1; i < len(nodes)-1; i++ {
		without := append([]node(nil), nodes...)
		without[i].has = false
		m, v, noise2 := predictAt(without, i)
		off := nodes[i].y - m
		z := math.Abs(off) / math.Sqrt(v+nodes[i].variance(noise2))
		s := Strange{c.pointAt(i), off, z}
		if z > strangeAt && math.Abs(off) > leastStrange {
			out = append(out, s)
		}
		if z > worst.Sigmas {
			worst = s
		}
	}
	if len(out) > 2 { // its neighbours look strange beside a reading far off
		return []Strange{worst}
	}
	return out
}

// pointAt returns a point at the i-th different frequency.
func (c *Curve) pointAt(i int) Point {
	k := 0
	for j, p := range c.Points {
		if j > 0 && p.Hz > c.Points[j-1].Hz {
			k++
		}
		if k == i {
			return p
		}
	}
	return Point{}
}

// predictAt returns mean and variance of the response at a node, and the
// variance of a reading.
func predictAt(nodes []node, at int) (mean, variance, noise2 float64) {
	filtered, smooth := make([]state, len(nodes)), make([]state, len(nodes))
	second := 0.0
	for _, cell := range weigh(nodes, false) {
		forward(nodes, cell.q, cell.noise*cell.noise, filtered)
		smoothed(nodes, cell.q, filtered, smooth)
		s := smooth[at]
		mean += cell.weight * s.m
		second += cell.weight * (s.m*s.m + s.pmm)
		noise2 += cell.weight * cell.noise * cell.noise
	}
	return mean, math.Max(second-mean*mean, 0), noise2
}
