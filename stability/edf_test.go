package stability

import (
	"math"
	"testing"
)

// SP 1065 (2008) Table 5 and the exact sums beside it (CHECKED): overlapping
// Allan deviation, 1001 phase points. The simple formulas come within the
// spread that their source states; the exact sum must come within its digits.
func TestDegreesOfFreedomByNoise(t *testing.T) {
	const n = 1001
	for _, row := range []struct {
		alpha PowerLaw
		exact [3]float64 // m = 1, 10, 100
	}{
		{WhitePM, [3]float64{514.04, 507.17, 440.21}},
		{FlickerPM, [3]float64{635.47, 247.31, 54.30}},
		{WhiteFM, [3]float64{782.03, 135.07, 12.69}},
		{FlickerFM, [3]float64{895.25, 114.67, 9.94}},
		{RandomWalkFM, [3]float64{762.29, 91.04, 7.76}},
	} {
		for i, m := range []int{1, 10, 100} {
			got := edfShape{alpha: row.alpha, d: 2, f: m, s: m}.edf([]int{n - 2*m})
			if math.Abs(got-row.exact[i]) > 0.006 {
				t.Errorf("%v m=%d: %.3f degrees of freedom, exact sum %.2f", row.alpha, m, got, row.exact[i])
			}
		}
	}
}

// Integration between the singular lags agrees with adding every lag.
func TestDegreesOfFreedomOfLongRecords(t *testing.T) {
	for alpha := RandomRun; alpha <= WhitePM; alpha++ {
		for _, d := range []int{2, 3} {
			if alpha < PowerLaw(2-2*d) {
				continue
			}
			for _, modified := range []bool{false, true} {
				const m = 3000
				e := edfShape{alpha: alpha, d: d, f: m, s: m}
				if modified {
					e.f = 1
				}
				for _, terms := range []int{5 * m, m + 1234} {
					adevWithin(t, alpha.String(), e.edf([]int{terms}), edfByEveryLag(e, terms), 2e-5)
				}
			}
		}
	}
}

func edfByEveryLag(e edfShape, terms int) float64 {
	last := min(terms, (e.d+1)*e.s)
	zero := e.sz(0)
	sum := 0.0
	for j := 0; j <= last; j++ {
		z, weight := e.sz(float64(j)/float64(e.s))/zero, 2.0
		if j == 0 || j == last {
			weight = 1
		}
		sum += weight * (1 - float64(j)/float64(terms)) * z * z
	}
	return float64(terms) / sum
}

// The covariance itself, where the series takes over from the three values.
func TestCovarianceSeriesJoins(t *testing.T) {
	for alpha := RandomRun; alpha <= WhitePM; alpha++ {
		e := edfShape{alpha: alpha, d: 3, f: 500, s: 500}
		below, above := e.sx(edfNear/500.0*(1-1e-9)), e.sx(edfNear/500.0*(1+1e-9))
		if math.Abs(below-above) > 1e-6*(math.Abs(below)+1e-6) {
			t.Errorf("%v: %g below, %g above", alpha, below, above)
		}
	}
}

// Two halves of a record far apart have the degrees of freedom of both.
func TestDegreesOfFreedomAcrossGaps(t *testing.T) {
	e := edfShape{alpha: WhiteFM, d: 2, f: 8, s: 8}
	adevWithin(t, "two equal runs", e.edf([]int{400, 400}), 2*e.edf([]int{400}), 1e-12)
	if whole, cut := e.edf([]int{800}), e.edf([]int{700, 60}); cut >= whole {
		t.Errorf("a gap that costs 40 terms raised the degrees of freedom from %g to %g", whole, cut)
	}
}

// NIST TN 1337, reprint of Stein, p. 213, eq. 12-37 to 12-39: s^2 = 3 with 10
// degrees of freedom, 90 % interval 1.64 to 7.61; chi-squared 3.94 and 18.3.
func TestChiSquaredExample(t *testing.T) {
	adevWithin(t, "5 % point", edfChiSquared(0.05, 10), 3.94030, 1e-5)
	adevWithin(t, "95 % point", edfChiSquared(0.95, 10), 18.30704, 1e-5)
	lo, hi := chiSquaredLimits(math.Sqrt(3), 10, 0.90)
	adevWithin(t, "lower limit", lo*lo, 1.63871, 1e-5)
	adevWithin(t, "upper limit", hi*hi, 7.61364, 1e-5)
	// The approximation for very many degrees of freedom joins the exact one.
	adevWithin(t, "1e5 degrees", edfChiSquared(0.025, 1e5*(1+1e-12)), edfChiSquared(0.025, 1e5), 1e-7)
}

// Error-bar example at m = 10 of the 1000-point set (recalled, each value
// recomputed independently).
func TestErrorBarExample(t *testing.T) {
	y, p := adevLCG1000(), adevPhase(t, adevLCG1000(), 1)
	adev := adevValue(t, KindAllan, p, 10)
	s := adevStatistic(t, "stdev", adevAverage(y, 10))
	b1, _ := noiseVarianceRatio(noiseAverages(p, 10))
	adevWithin(t, "B1", b1, 0.870, 1e-3)
	adevWithin(t, "B1 from the deviations", s*s/adev/adev, b1, 1e-9)
	mdev := adevValue(t, KindModifiedAllan, p, 10)
	adevWithin(t, "R(n)", mdev*mdev/adev/adev, 0.384, 2e-3)
	adevWithin(t, "simple error bar", 0.87*adev/math.Sqrt(99), 8.713869e-03, 1e-6)
	const edf = 146.177                                                    // simple formula, SP 1065 Table 5
	adevWithin(t, "chi-squared", edfChiSquared(0.05, edf), 119.2345, 5e-6) // edf has six digits
	_, hi := chiSquaredLimits(adevValue(t, KindOverlappingAllan, p, 10), edf, 0.90)
	adevWithin(t, "one-sided 95 % limit", hi, 0.101422, 1e-5)
}
