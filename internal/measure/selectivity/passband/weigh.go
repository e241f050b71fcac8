package passband

import (
	"math"
	"sort"
)

// cell is one pair of roughness and scatter with the weight that the points
// give it.
type cell struct {
	q      float64 // variance of the slope per warped unit, dB²
	noise  float64 // standard deviation of a reading, dB
	weight float64
}

// The range of roughness and scatter that is weighed, decades in equal steps.
const (
	leastQ, mostQ, stepsQ             = -1.0, 7.5, 35
	leastNoise, mostNoise, stepsNoise = -2.0, 0.7, 19
	// A reading at the bench is off by 0.3 dB, give or take a factor of
	// two, before the points have been looked at: common
	// practice, no source.
	usualNoise, usualSpread = 0.3, 0.8
)

// weigh returns the cells that hold nearly all of the weight.
func weigh(nodes []node, known bool) []cell {
	noises := []float64{0}
	if !known {
		noises = noises[:0]
		for i := range stepsNoise {
			noises = append(noises, math.Pow(10, leastNoise+(mostNoise-leastNoise)*float64(i)/(stepsNoise-1)))
		}
	}
	var cells []cell
	best := math.Inf(-1)
	for i := range stepsQ {
		q := math.Pow(10, leastQ+(mostQ-leastQ)*float64(i)/(stepsQ-1))
		for _, noise := range noises {
			l := forward(nodes, q, noise*noise, nil)
			if !known {
				z := math.Log(noise/usualNoise) / usualSpread
				l -= z * z / 2
			}
			cells = append(cells, cell{q: q, noise: noise, weight: l})
			best = math.Max(best, l)
		}
	}
	return heaviest(cells, best)
}

// heaviest turns log likelihoods into weights, leaves out the lightest cells
// and sorts by weight.
func heaviest(cells []cell, best float64) []cell {
	sum := 0.0
	for i := range cells {
		cells[i].weight = math.Exp(cells[i].weight - best)
		sum += cells[i].weight
	}
	sort.SliceStable(cells, func(i, j int) bool { return cells[i].weight > cells[j].weight })
	kept := 0.0
	for i := range cells {
		kept += cells[i].weight
		if kept > 0.99*sum {
			cells = cells[:i+1]
			break
		}
	}
	for i := range cells {
		cells[i].weight /= kept
	}
	return cells
}

// scatterOf returns the scatter of the readings and the standard deviation of
// its logarithm.
func scatterOf(cells []cell) (sd, logU float64) {
	m, m2 := 0.0, 0.0
	for _, c := range cells {
		if c.noise == 0 {
			return 0, 0
		}
		l := math.Log(c.noise)
		m += c.weight * l
		m2 += c.weight * l * l
	}
	return math.Exp(m), math.Sqrt(math.Max(m2-m*m, 0))
}
