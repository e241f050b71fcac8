package stability

// edfFit is edf = b T/tau - c, T the length of the stretch.
type edfFit struct{ b, c float64 }

// Fits for the total deviation (Greenhall, Howe and Percival 1999; SP 1065
// (2008), Table 7) at alpha = 0, -1, -2.
var edfTotal = [...]edfFit{{1.50, 0}, {1.17, 0.22}, {0.93, 0.36}}

// Fits for the modified total (SP 1065 (2008), Table 8) at alpha = 2 ... -2.
var edfModifiedTotal = [...]edfFit{{1.90, 2.1}, {1.20, 1.40}, {1.10, 1.2}, {0.85, 0.50}, {0.75, 0.31}}

// Fits for the Hadamard total, edf = (T/tau)/(b + c tau/T), at alpha = 0 ... -4
// (SP 1065 (2008); from memory, confirmed for alpha = 0, -1, -2 by simulation).
var edfHadamardTotal = [...]edfFit{{0.559, 1.004}, {0.868, 1.140}, {0.938, 1.696}, {0.974, 2.554}, {1.276, 3.149}}

// totalEDF is the degrees of freedom of a total kind at factor m over
// stretches of the given numbers of phase points, each stretch counted by
// itself. ok is false for noise types without a published fit; the parent's
// degrees of freedom then serve, which a total kind has at least.
func totalEDF(k Kind, alpha PowerLaw, m int, points []int) (edf float64, ok bool) {
	for _, n := range points {
		var e float64
		switch {
		case k == KindTotal && alpha <= 0 && alpha >= -2:
			fit := edfTotal[-alpha]
			e = fit.b*float64(n)/float64(m) - fit.c
		case k.modified() && alpha <= 2 && alpha >= -2:
			fit := edfModifiedTotal[2-alpha]
			e = fit.b*float64(n)/float64(m) - fit.c
		case k == KindHadamardTotal && m > 1 && alpha <= 0 && alpha >= -4:
			fit, r := edfHadamardTotal[-alpha], float64(n-1)/float64(m)
			e = r / (fit.b + fit.c/r)
		default:
			return 0, false
		}
		edf += max(e, 0)
	}
	return edf, true
}

// Divisors of the modified total for alpha = 2 ... -2 and of the Hadamard
// total for alpha = 0 ... -4 (SP 1065 (2008), chapter 5). The two at alpha = 0
// reproduce the published values of its Tables 30 and 31; the others are from
// memory, confirmed by simulation where allan_total_test.go says so.
var (
	biasModifiedTotal = [...]float64{0.94, 0.83, 0.73, 0.70, 0.69}
	biasHadamardTotal = [...]float64{0.995, 0.851, 0.771, 0.717, 0.679}
)

// totalBias is the ratio of what a total kind's mean square estimates to what
// its parent's does, for one stretch of n phase points.
func totalBias(k Kind, alpha PowerLaw, m, n int) float64 {
	switch {
	case k == KindTotal:
		return 1 - totalDeficit(alpha)*float64(m)/float64(n-1)
	case k.total() && k.modified():
		return biasModifiedTotal[2-max(-2, min(2, alpha))]
	case k == KindHadamardTotal && m > 1:
		return biasHadamardTotal[-max(-4, min(0, alpha))]
	}
	return 1
}

// totalDeficit is a in TOTVAR = AVAR (1 - a tau/T): 1/(3 ln 2) for flicker FM
// and 3/4 for random walk FM, none for white FM and phase noise (Greenhall,
// Howe and Percival 1999).
func totalDeficit(alpha PowerLaw) float64 {
	switch {
	case alpha >= WhiteFM:
		return 0
	case alpha == FlickerFM:
		return 0.480898346962988 // 1/(3 ln 2)
	}
	return 0.75
}
