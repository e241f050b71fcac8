package sensitivity

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// In CW one reading of the noise often stands for all levels. Its error then
// moves all ratios alike: no number of levels averages it out, and a fit that
// took the ratios for independent would promise far too much.

// sharing is a set of points that rest on one reading without the signal, of
// standard uncertainty u in dB.
type sharing struct {
	points []int
	u      float64
}

// sharings are those of a set of points.
func sharings(points []point) []sharing {
	at := map[int]int{}
	var out []sharing
	for i, p := range points {
		if p.noise == 0 || p.commonU == 0 {
			continue
		}
		k, ok := at[p.noise]
		if !ok {
			k = len(out)
			at[p.noise] = k
			out = append(out, sharing{u: p.commonU})
		}
		out[k].points = append(out[k].points, i)
	}
	return out
}

// markShared leaves commonU only with points that do share their reading.
func markShared(points []point) {
	count := map[int]int{}
	for _, p := range points {
		count[p.noise]++
	}
	for i, p := range points {
		if count[p.noise] < 2 {
			points[i].commonU = 0
		}
	}
}

// ownU is the uncertainty of the ratio less what is common to several points.
func (p point) ownU() float64 { return math.Sqrt(math.Max(p.u*p.u-p.commonU*p.commonU, 1e-6)) }

// whiten turns residuals, or a column of the Jacobian, that are weighted by
// their own uncertainties into such as are independent of each other: by
// (I + u²vvᵀ)^(−1/2), v being the weights of the points that share an error u.
func (s sharing) whiten(x *mat.VecDense, weights []float64) {
	var vv, vx float64
	for _, i := range s.points {
		vv += weights[i] * weights[i]
		vx += weights[i] * x.AtVec(i)
	}
	if vv == 0 {
		return
	}
	share := (1 - 1/math.Sqrt(1+s.u*s.u*vv)) * vx / vv
	for _, i := range s.points {
		x.SetVec(i, x.AtVec(i)-share*weights[i])
	}
}
