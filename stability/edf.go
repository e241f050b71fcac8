package stability

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// The degrees of freedom follow Greenhall and Riley, "Uncertainty of stability
// variances based on finite differences", 35th PTTI Meeting (2003): the exact
// sum over lags of the squared covariance of the differences. The total kinds
// take the fitted formulas of NIST SP 1065 (2008), chapter 5.

// edfShape is what the covariance of the differences depends on.
type edfShape struct {
	alpha PowerLaw
	d     int // order of the difference: 2 Allan, 3 Hadamard
	f     int // filter: m unmodified, 1 modified
	s     int // starts per tau: 1 non-overlapping, m overlapping
}

// edfLags is the largest number of lags between two singular points of the
// covariance that is summed one by one; longer stretches are integrated.
const edfLags = 1024

// edfNear is how many lags beside a singular point are always summed.
const edfNear = 64

// edf gives the equivalent degrees of freedom of a mean of squared differences
// whose terms form runs of consecutive starts, runs[i] terms long. Without
// gaps there is one run and the result is that of Greenhall and Riley. With
// gaps the covariance within each run is counted in full and that between
// terms on two sides of a gap is left out: they share no reading.
func (e edfShape) edf(runs []int) float64 {
	w := newEdfPairs(runs)
	zero := e.sz(0)
	last := min(w.longest(), (e.d+1)*e.s)
	square := func(j float64) float64 {
		z := e.sz(j / float64(e.s))
		return w.at(j) * z * z
	}
	sum := w.at(0)*zero*zero + square(float64(last))
	for k := 0; k*e.s < last; k++ {
		sum += 2 * edfSum(square, k*e.s, min((k+1)*e.s, last))
		if k > 0 {
			sum += 2 * square(float64(k*e.s))
		}
	}
	total := w.at(0)
	return total * total * zero * zero / sum
}

// edfSum sums f over the whole numbers strictly between a and b. Near a and b,
// where the covariance may be singular, it adds term by term; between, it
// integrates over stretches that double in length (the midpoint rule turned
// round: a sum over j is the integral from j - 1/2 to j + 1/2 each).
func edfSum(f func(float64) float64, a, b int) float64 {
	if b-a <= edfLags {
		return edfPlain(f, a+1, b)
	}
	mid := (a + b) / 2
	sum := edfPlain(f, a+1, a+edfNear) + edfPlain(f, b-edfNear+1, b)
	for u := edfNear; a+u < mid; u *= 2 {
		sum += edfIntegral(f, a+u, min(a+2*u, mid))
	}
	for u := edfNear; b-u >= mid; u *= 2 {
		sum += edfIntegral(f, max(b-2*u, mid-1)+1, b-u+1)
	}
	return sum
}

// edfPlain sums f over lo <= j < hi.
func edfPlain(f func(float64) float64, lo, hi int) float64 {
	sum := 0.0
	for j := lo; j < hi; j++ {
		sum += f(float64(j))
	}
	return sum
}

// edfIntegral stands for the sum of f over lo <= j < hi.
func edfIntegral(f func(float64) float64, lo, hi int) float64 {
	if hi <= lo {
		return 0
	}
	return quad.Fixed(f, float64(lo)-0.5, float64(hi)-0.5, 12, quad.Legendre{}, 0)
}

// sz is the covariance of the differences of order d at lag t tau.
func (e edfShape) sz(t float64) float64 {
	if e.d == 3 {
		return 20*e.sx(t) - 15*(e.sx(t-1)+e.sx(t+1)) + 6*(e.sx(t-2)+e.sx(t+2)) - (e.sx(t-3) + e.sx(t+3))
	}
	return 6*e.sx(t) - 4*(e.sx(t-1)+e.sx(t+1)) + (e.sx(t-2) + e.sx(t+2))
}

// sx is F^2 [2 sw(t) - sw(t - 1/F) - sw(t + 1/F)]. Where 1/F is small beside t
// the three cancel to nothing in floating point, and the series -sw” -
// sw””/(12 F^2) is used instead.
func (e edfShape) sx(t float64) float64 {
	w, f := edfKernels[2-e.alpha], float64(e.f)
	t = math.Abs(t)
	if t*f < edfNear {
		return f * f * (2*w.at(t) - w.at(t-1/f) - w.at(t+1/f))
	}
	w2 := w.derivative().derivative()
	w4 := w2.derivative().derivative()
	return -w2.at(t) - w4.at(t)/(12*f*f)
}

// edfKernel is |t|^p (a + b ln|t|), zero at t = 0.
type edfKernel struct{ p, a, b float64 }

// edfKernels is sw for alpha = 2, 1 ... -4.
var edfKernels = [...]edfKernel{{1, -1, 0}, {2, 0, 1}, {3, 1, 0}, {4, 0, -1}, {5, -1, 0}, {6, 0, 1}, {7, 1, 0}}

func (w edfKernel) at(t float64) float64 {
	t = math.Abs(t)
	if t == 0 {
		return 0
	}
	v := w.a
	if w.b != 0 {
		v += w.b * math.Log(t)
	}
	return v * edfPower(t, int(w.p))
}

// edfPower is t^p for a small whole p, far cheaper than math.Pow.
func edfPower(t float64, p int) float64 {
	if p < 0 {
		return 1 / edfPower(t, -p)
	}
	v := 1.0
	for range p {
		v *= t
	}
	return v
}

// derivative holds for t > 0.
func (w edfKernel) derivative() edfKernel {
	return edfKernel{w.p - 1, w.p*w.a + w.b, w.p * w.b}
}

// edfPairs counts the pairs of terms at a given lag within runs.
type edfPairs struct {
	length []int // ascending
	above  []int // above[i] = sum of length[i:]
}

func newEdfPairs(runs []int) edfPairs {
	w := edfPairs{length: append([]int(nil), runs...), above: make([]int, len(runs)+1)}
	sort.Ints(w.length)
	for i := len(w.length) - 1; i >= 0; i-- {
		w.above[i] = w.above[i+1] + w.length[i]
	}
	return w
}

func (w edfPairs) longest() int { return w.length[len(w.length)-1] }

// at is the sum over runs of max(0, length - j).
func (w edfPairs) at(j float64) float64 {
	i := 0
	if len(w.length) > 1 {
		i = sort.Search(len(w.length), func(i int) bool { return float64(w.length[i]) > j })
	} else if float64(w.length[0]) <= j {
		i = 1
	}
	return float64(w.above[i]) - j*float64(len(w.length)-i)
}

// chiSquaredLimits turns a deviation with edf degrees of freedom into the
// limits at the given level: s^2 edf / chi2(1 - (1-level)/2) and
// s^2 edf / chi2((1-level)/2) (NIST SP 1065 (2008), eq. 45).
func chiSquaredLimits(value, edf, level float64) (lo, hi float64) {
	q := func(p float64) float64 {
		return value * math.Sqrt(edf/edfChiSquared(p, edf))
	}
	return q((1 + level) / 2), q((1 - level) / 2)
}

// edfChiSquared is the p quantile of chi-squared. Past 1e5 degrees of freedom
// the Wilson-Hilferty cube is right to better than 1e-7.
func edfChiSquared(p, edf float64) float64 {
	if edf > 1e5 {
		z := distuv.UnitNormal.Quantile(p)
		c := 1 - 2/(9*edf) + z*math.Sqrt(2/(9*edf))
		return edf * c * c * c
	}
	return distuv.ChiSquared{K: edf}.Quantile(p)
}
