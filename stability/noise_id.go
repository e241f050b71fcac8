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
