package stability

import "math"

// noiseExponent differences z until it is nearly stationary and returns
// p = -2 (rho + d), rho = r1/(1 + r1), r1 the lag-1 autocorrelation.
func noiseExponent(z []float64, dmax int) (p float64, ok bool) {
	for d := 0; ; d++ {
		r1 := noiseAutocorrelation(z)
		if math.IsNaN(r1) || r1 <= -1 {
			return 0, false
		}
		rho := r1 / (1 + r1)
		if rho < 0.25 || d >= dmax {
			return -2 * (rho + float64(d)), true
		}
		for i := range len(z) - 1 {
			z[i] = z[i+1] - z[i]
		}
		z = z[:len(z)-1]
	}
}

// noiseAutocorrelation is r1 over the pairs present, scaled to the number of
// pairs that a record without gaps has. NaN marks what is missing; the result
// is NaN where nothing varies.
func noiseAutocorrelation(z []float64) float64 {
	n, sum := 0, 0.0
	for _, v := range z {
		if !math.IsNaN(v) {
			n, sum = n+1, sum+v
		}
	}
	mean := sum / float64(n)
	pairs, lag, square := 0, 0.0, 0.0
	before := math.NaN()
	for _, v := range z {
		v -= mean
		if !math.IsNaN(v) {
			square += v * v
			if !math.IsNaN(before) {
				pairs, lag = pairs+1, lag+before*v
			}
		}
		before = v
	}
	return lag / square * float64(n-1) / float64(pairs)
}

// noiseRemoveLine takes the least-squares line off the values present.
func noiseRemoveLine(z []float64) {
	n, st, sz := 0.0, 0.0, 0.0
	for i, v := range z {
		if !math.IsNaN(v) {
			n, st, sz = n+1, st+float64(i), sz+v
		}
	}
	st, sz = st/n, sz/n
	stt, stz := 0.0, 0.0
	for i, v := range z {
		if t := float64(i) - st; !math.IsNaN(v) {
			stt, stz = stt+t*t, stz+t*(v-sz)
		}
	}
	slope := 0.0
	if stt > 0 {
		slope = stz / stt
	}
	for i := range z {
		z[i] -= sz + slope*(float64(i)-st)
	}
}

// noiseRemoveQuadratic takes the least-squares parabola off, with the
// orthogonal polynomials 1, t, t^2 - (n^2-1)/12 of an even grid.
func noiseRemoveQuadratic(z []float64) {
	n := float64(len(z))
	middle, flat := (n-1)/2, (n*n-1)/12
	var s0, s1, s2, q1, q2 float64
	for i, v := range z {
		t := float64(i) - middle
		c := t*t - flat
		s0, s1, s2 = s0+v, s1+t*v, s2+c*v
		q1, q2 = q1+t*t, q2+c*c
	}
	s0, s1, s2 = s0/n, s1/q1, s2/q2
	for i := range z {
		t := float64(i) - middle
		z[i] -= s0 + s1*t + s2*(t*t-flat)
	}
}
