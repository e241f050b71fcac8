package signal

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// depthHarmonics is how many harmonics of the modulation rate a swing in dB is
// made of: a depth of 50 % in amplitude has its eighth 70 dB below its first.
const depthHarmonics = 8

// ToneDepth is the peak-to-peak swing in dB of an envelope at a modulation rate
// hz and its harmonics, and its uncertainty. A sinusoidal modulation of depth m
// swings 20 log10((1 + m)/(1 − m)). The fluctuation of noise in the envelope is
// taken off as power; the loss of the moving rms is made good. Swing and
// uncertainty are 0 where the envelope does not last for one period.
func ToneDepth(env *LevelTrack, hz float64) (peakToPeakDB, u float64) {
	w := envelopeWave(env, hz)
	return w.swing()
}

// wave is a periodic function by its harmonics, noise taken off.
type wave struct {
	a, b []float64 // cosine and sine parts, dB
	v    []float64 // variance of each part
}

// envelopeWave fits the harmonics of a rate to an envelope in dB.
func envelopeWave(env *LevelTrack, hz float64) wave {
	n := len(env.TimeS)
	if n < 8 || !(hz > 0) || env.TimeS[n-1]-env.TimeS[0] < 1/hz {
		return wave{}
	}
	most := depthHarmonics
	for most > 1 && float64(most)*hz*env.WindowS > 0.35 {
		most--
	}
	y := levelsDB(env.Power)
	c, left := fitHarmonics(env.TimeS, y, hz, most)
	// Neighbours share a window: the density at low rates is n points' worth.
	overlap := float64(windowSteps(env))
	v := 2 * left / float64(n) * overlap
	w := wave{a: make([]float64, most), b: make([]float64, most), v: make([]float64, most)}
	for k := range most {
		x := math.Pi * float64(k+1) * hz * env.WindowS
		loss := 1.0
		if x > 0 {
			loss = math.Sin(x) / x
		}
		w.a[k], w.b[k], w.v[k] = c[1+2*k]/loss, c[2+2*k]/loss, v/loss/loss
	}
	return w
}

// fitHarmonics is the least-squares mean, cosines and sines of hz and its
// multiples, a slope taken off as well, and the variance of what is left.
func fitHarmonics(t, y []float64, hz float64, most int) (c []float64, left float64) {
	m := 2 + 2*most
	sums, rhs := make([]float64, m*m), mat.NewVecDense(m, nil)
	row, right := make([]float64, m), rhs.RawVector().Data
	mid, span := (t[0]+t[len(t)-1])/2, t[len(t)-1]-t[0]
	fill := func(at float64) {
		row[0], row[m-1] = 1, (at-mid)/span
		// cos((k+1)x) + cos((k−1)x) = 2 cos x cos kx, and so the sines.
		s1, c1 := math.Sincos(2 * math.Pi * math.Mod(hz*at, 1))
		c0, s0, c, s := 1.0, 0.0, c1, s1
		for k := range most {
			row[1+2*k], row[2+2*k] = c, s
			c0, s0, c, s = c, s, 2*c1*c-c0, 2*c1*s-s0
		}
	}
	for i, at := range t {
		fill(at)
		for a, v := range row {
			right[a] += v * y[i]
			line := sums[a*m:][:m]
			for b := a; b < m; b++ {
				line[b] += v * row[b]
			}
		}
	}
	for a := range m {
		sums[a*m+a] *= 1 + 1e-12
	}
	normal := mat.NewSymDense(m, sums)
	var chol mat.Cholesky
	out := mat.NewVecDense(m, nil)
	if !chol.Factorize(normal) || chol.SolveVecTo(out, rhs) != nil {
		return make([]float64, m), 0
	}
	c = out.RawVector().Data
	for i, at := range t {
		fill(at)
		d := y[i]
		for a := range m {
			d -= row[a] * c[a]
		}
		left += d * d
	}
	return c, left / math.Max(1, float64(len(t)-m))
}

// swing is the difference of the extremes. Each harmonic is made smaller so that
// its power is less that of the noise in it; where the first itself hardly
// stands out the others are left out.
func (w wave) swing() (peakToPeak, u float64) {
	if len(w.a) == 0 {
		return 0, 0
	}
	keep := make([]float64, len(w.a))
	for k := range w.a {
		p, noise := w.a[k]*w.a[k]+w.b[k]*w.b[k], 2*w.v[k]
		if p > noise && (k == 0 || keep[0] > 0.94) { // the first has nine times the noise
			keep[k] = math.Sqrt((p - noise) / p)
		}
	}
	at := func(x float64) float64 {
		s := 0.0
		for k := range w.a {
			if keep[k] > 0 {
				s += keep[k] * (w.a[k]*math.Cos(float64(k+1)*x) + w.b[k]*math.Sin(float64(k+1)*x))
			}
		}
		return s
	}
	lo, hi, xl, xh := math.Inf(1), math.Inf(-1), 0.0, 0.0
	const points = 720
	for i := range points {
		x := 2 * math.Pi * float64(i) / points
		if v := at(x); v < lo {
			lo, xl = v, x
		}
		if v := at(x); v > hi {
			hi, xh = v, x
		}
	}
	variance := 0.0
	for k := range w.a {
		if keep[k] > 0 || k == 0 {
			c := math.Cos(float64(k+1)*xh) - math.Cos(float64(k+1)*xl)
			s := math.Sin(float64(k+1)*xh) - math.Sin(float64(k+1)*xl)
			variance += w.v[k] * math.Max(c*c+s*s, 1)
		}
	}
	if !(hi > lo) {
		return 0, 2 * math.Sqrt(w.v[0])
	}
	return hi - lo, math.Sqrt(variance)
}
