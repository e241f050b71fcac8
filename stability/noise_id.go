package stability

import (
	"fmt"
	"math"
	"slices"
)

// PowerLaw is the exponent alpha of the noise S_y(f) = h f^alpha.
type PowerLaw int

// The noise types of IEEE Std 1139, and the two steeper ones that only the
// Hadamard family can meet.
const (
	WhitePM      PowerLaw = 2
	FlickerPM    PowerLaw = 1
	WhiteFM      PowerLaw = 0
	FlickerFM    PowerLaw = -1
	RandomWalkFM PowerLaw = -2
	FlickerWalk  PowerLaw = -3
	RandomRun    PowerLaw = -4
)

var powerLawNames = map[PowerLaw]string{WhitePM: "white phase noise", FlickerPM: "flicker phase noise",
	WhiteFM: "white frequency noise", FlickerFM: "flicker frequency noise", RandomWalkFM: "random walk of frequency",
	FlickerWalk: "flicker walk of frequency", RandomRun: "random run of frequency"}

// String names the noise in words.
func (a PowerLaw) String() string {
	if name, ok := powerLawNames[a]; ok {
		return name
	}
	return fmt.Sprintf("noise with alpha %d", int(a))
}

// NoiseBy says how the type of noise was found.
type NoiseBy string

// Ways in which a type of noise is found, best first.
const (
	NoiseGiven   NoiseBy = "given"               // by the caller
	NoiseLag1    NoiseBy = "lag-1"               // lag-1 autocorrelation at this averaging factor
	NoiseCarried NoiseBy = "carried"             // too few averages here: lag-1 at the largest octave below with enough
	NoiseB1      NoiseBy = "variance ratio"      // too few readings for lag-1 anywhere: the ratio B1 at tau0
	NoiseAssumed NoiseBy = "assumed white noise" // nothing could be told: white frequency noise is assumed
)

const (
	// noiseMinPoints is the least number of values for the lag-1 method (Riley
	// and Greenhall 2004).
	noiseMinPoints = 30
	// noiseMinB1 is the least number of readings for the variance ratio: common
	// practice, no source.
	noiseMinB1 = 8
	// noiseMaxPoints caps the values looked at: the first so many give the
	// autocorrelation to 0.004, where 0.25 parts two types.
	noiseMaxPoints = 1 << 16
)

// noiseFound is the type of noise at one averaging factor.
type noiseFound struct {
	alpha PowerLaw
	by    NoiseBy
	m     int
}

// noiseFinder finds the types of noise in one record; dmax is 2 for the Allan
// and 3 for the Hadamard family.
type noiseFinder struct {
	p    Phase
	dmax int
	memo map[int]noiseFound
	work []float64 // kept from factor to factor
}

func newNoiseFinder(p Phase, dmax int) *noiseFinder {
	return &noiseFinder{p: p, dmax: dmax, memo: map[int]noiseFound{}}
}

// at finds the noise at factor m; where there are too few averages it falls
// back as [NoiseBy] lists. The answer depends on the record and m alone, never
// on which other factors were asked for.
func (f *noiseFinder) at(m int) noiseFound {
	if found, ok := f.memo[m]; ok {
		return found
	}
	found := f.find(m)
	f.memo[m] = found
	return found
}

func (f *noiseFinder) find(m int) noiseFound {
	if alpha, ok := f.lag1(m); ok {
		return noiseFound{f.round(alpha), NoiseLag1, m}
	}
	for octave := devOctaveBelow(m); octave >= 1; octave /= 2 {
		if below := f.at(octave); below.by == NoiseLag1 {
			return noiseFound{below.alpha, NoiseCarried, octave}
		}
	}
	if mu, ok := noiseByB1(noiseAverages(f.p, 1)); ok {
		return noiseFound{f.round(mu), NoiseB1, 1}
	}
	return noiseFound{WhiteFM, NoiseAssumed, m}
}

// devOctaveBelow is the largest power of two below m, 0 for m = 1.
func devOctaveBelow(m int) int {
	octave := 0
	for next := 1; next < m; next *= 2 {
		octave = next
	}
	return octave
}

// round keeps alpha within what the family's variance converges for.
func (f *noiseFinder) round(alpha float64) PowerLaw {
	lowest := -2.0
	if f.dmax == 3 {
		lowest = -4
	}
	return PowerLaw(math.Max(lowest, math.Min(2, math.Round(alpha))))
}

// lag1 is alpha by the lag-1 autocorrelation (Riley and Greenhall 2004). A
// record without gaps is taken as phase, every m-th point with a quadratic
// removed; one with gaps as averages of frequency with a line removed, because
// the phase is lost in a gap.
func (f *noiseFinder) lag1(m int) (alpha float64, ok bool) {
	var z []float64
	shift := 0.0
	if len(f.p.segments) == 1 {
		f.work, shift = noiseEvery(f.work, f.p.segments[0], m), 2
		z = f.work
		if len(z) >= noiseMinPoints {
			noiseRemoveQuadratic(z)
		}
	} else {
		z = noiseAverages(f.p, m)
		noiseRemoveLine(z)
	}
	if noisePresent(z) < noiseMinPoints {
		return 0, false
	}
	power, ok := noiseExponent(z, f.dmax)
	return power + shift, ok
}

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

// noiseEvery is every m-th point of x, in the space of z where that is enough.
func noiseEvery(z, x []float64, m int) []float64 {
	n := min((len(x)+m-1)/m, noiseMaxPoints)
	z = slices.Grow(z[:0], n)[:n]
	for i := range z {
		z[i] = x[i*m]
	}
	return z
}

// noiseAverages is the frequency averaged over m readings, from the start of
// each stretch, with NaN between stretches.
func noiseAverages(p Phase, m int) []float64 {
	var y []float64
	tau := float64(m) * p.tau0S
	for _, x := range p.segments {
		if len(x) <= m {
			continue
		}
		if len(y) > 0 {
			y = append(y, math.NaN())
		}
		for i := 0; i+m < len(x) && len(y) < noiseMaxPoints; i += m {
			y = append(y, (x[i+m]-x[i])/tau)
		}
	}
	return y
}

func noisePresent(z []float64) int {
	n := 0
	for _, v := range z {
		if !math.IsNaN(v) {
			n++
		}
	}
	return n
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
