package stability

import "math"

// noiseByB1 tells the noise from B1, the sample variance over the Allan
// variance at tau0, by the expected ratios of NIST SP 1065 (2008), chapter 5
// (the boundaries are their geometric means). It cannot part white from
// flicker phase noise and answers white.
func noiseByB1(y []float64) (alpha float64, ok bool) {
	b1, n := noiseVarianceRatio(y)
	if n < noiseMinB1 || math.IsNaN(b1) {
		return 0, false
	}
	expected := []float64{noiseB1(n, 2), noiseB1(n, 1), noiseB1(n, 0), noiseB1(n, -1), noiseB1(n, -2)}
	alphas := []float64{-3, -2, -1, 0, 2}
	for i := range len(expected) - 1 {
		if b1 > math.Sqrt(expected[i]*expected[i+1]) {
			return alphas[i], true
		}
	}
	return 2, true
}

// noiseB1 is the expected B1 of n readings whose Allan variance goes as tau^mu.
func noiseB1(n float64, mu int) float64 {
	switch mu {
	case 2:
		return n * (n + 1) / 6
	case 1:
		return n / 2
	case 0:
		return n * math.Log(n) / (2 * (n - 1) * math.Ln2)
	case -1:
		return 1
	}
	return (n*n - 1) / (1.5 * n * (n - 1))
}

// noiseVarianceRatio is the sample variance of the readings present over half
// the mean square of the differences of neighbours.
func noiseVarianceRatio(y []float64) (b1, n float64) {
	sum, pairs, square := 0.0, 0.0, 0.0
	before := math.NaN()
	for _, v := range y {
		if !math.IsNaN(v) {
			n, sum = n+1, sum+v
		}
		if d := v - before; !math.IsNaN(d) {
			pairs, square = pairs+1, square+d*d
		}
		before = v
	}
	s2 := 0.0
	for _, v := range y {
		if d := v - sum/n; !math.IsNaN(d) {
			s2 += d * d
		}
	}
	return s2 / (n - 1) / (square / (2 * pairs)), n
}
