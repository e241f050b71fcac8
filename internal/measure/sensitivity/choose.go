package sensitivity

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// leastForScatter is the number of readings to spare from which their scatter
// says how well one is known.
const leastForScatter = 4

// plausible is how much worse, by the information criterion, a law may be than
// the best to count as one that the readings allow too (by simulation, see the
// test of coverage: with less, the floor of a set with hum is promised too
// closely).
const plausible = 4.0

// usual is by how much another law must be better than the usual one of the mode
// to be preferred: physics speaks for that one before any reading.
const usual = 1.0

// choose fits all laws and orders them by the corrected information criterion
// (AIC with the correction for few readings, χ² form): best first, only those
// that the readings allow. known says that the uncertainty of the readings was
// given; else the scatter about the curve tells it, where there is enough.
func choose(laws []law, points []point, stepU float64, known bool) []fitted {
	var all []fitted
	for i, l := range laws {
		f, ok := fit(l, points, stepU)
		if ok || i == 0 && f.params != nil {
			all = append(all, f)
		}
	}
	if len(all) == 0 {
		return nil
	}
	variance := scatter(all, known)
	for i := range all {
		all[i].score = information(all[i].chi2/variance, all[i].size(), len(points))
		if all[i].law == laws[0] {
			all[i].score -= usual
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].score < all[j].score })
	var out []fitted
	for _, f := range all {
		if f.score <= all[0].score+plausible && !math.IsInf(f.score, 1) || len(out) == 0 {
			f.scale = math.Sqrt(f.variance(known))
			out = append(out, f)
		}
	}
	return out
}

// scatter is the variance of the readings in units of what is assumed of them,
// by the law that leaves least.
func scatter(all []fitted, known bool) float64 {
	least := math.Inf(1)
	for _, f := range all {
		if f.dof >= leastForScatter {
			least = math.Min(least, f.chi2/float64(f.dof))
		}
	}
	if math.IsInf(least, 1) {
		return 1
	}
	if known {
		return math.Max(least, 1)
	}
	return math.Max(least, 1e-4)
}

// variance is that of the readings in units of what is assumed of them. A known
// uncertainty is raised where the scatter is larger than it, never lowered.
func (f fitted) variance(known bool) float64 {
	if f.dof < leastForScatter {
		return math.Max(1, f.chi2/math.Max(float64(f.dof), 1))
	}
	v := f.chi2 / float64(f.dof)
	if known {
		return math.Max(v, 1)
	}
	return math.Max(v, 1e-4)
}

// byScatter says that the uncertainty is that of the scatter, so that its
// degrees of freedom count.
func (f fitted) byScatter(known bool) bool {
	return f.dof >= leastForScatter && !known
}

// information is χ² + 2k + 2k(k+1)/(n−k−1). A law that leaves no reading to
// spare is not comparable, unless it has but one parameter.
func information(chi2 float64, k, n int) float64 {
	if n-k-1 < 1 {
		if k == 1 {
			return chi2 + 4
		}
		return math.Inf(1)
	}
	return chi2 + 2*float64(k) + 2*float64(k*(k+1))/float64(n-k-1)
}

// u is one standard uncertainty of what moves with the parameters by a
// gradient.
func (f fitted) u(gradient []float64) float64 {
	g := mat.NewVecDense(len(gradient), gradient)
	return f.scale * math.Sqrt(math.Max(0, mat.Inner(g, f.cov, g)))
}

// levelAt is the level in dBm at a ratio in dB with its standard uncertainty
// from the readings.
func (f fitted) levelAt(ratioDB float64) (dbm, u float64, ok bool) {
	dbm, ok = f.solve(ratioDB, f.params)
	if !ok {
		return dbm, 0, false
	}
	g := make([]float64, len(f.params))
	q := append([]float64(nil), f.params...)
	const h = 1e-3
	for k := range q {
		q[k] = f.params[k] + h
		up, ok1 := f.solve(ratioDB, q)
		q[k] = f.params[k] - h
		down, ok2 := f.solve(ratioDB, q)
		if ok1 && ok2 {
			g[k] = (up - down) / (2 * h)
		}
		q[k] = f.params[k]
	}
	return dbm, f.u(g), true
}

// ratioAt is the curve at a level with its standard uncertainty.
func (f fitted) ratioAt(dbm float64) (ratio, u float64) {
	return f.at(dbm, f.params), f.u(f.gradient(dbm, f.params))
}
