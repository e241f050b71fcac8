package signal

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// SineFit is a sine fitted to samples: DC + Amplitude*cos(2π Hz t + Phase), t in
// seconds from the first sample.
type SineFit struct {
	Hz, HzU               float64 // HzU is 0 where the frequency was given
	Amplitude, AmplitudeU float64 // peak
	Phase, PhaseU         float64 // radians, at the first sample
	DC                    float64
	ResidualRMS           float64
	N                     int
}

// FitSine3 fits amplitude, phase and mean of a sine of known frequency by least
// squares, in closed form (IEEE 1057 "three-parameter" fit, from memory). The
// uncertainties are those of [FitSine4] with the frequency known. Fewer than four samples,
// samples that are no numbers or a frequency outside 0 to half the rate give a
// fit of N 0 whose numbers are NaN.
func FitSine3(x []float64, rate, hz float64) SineFit {
	if sineTrouble(x, rate, hz, 4) != nil {
		nan := math.NaN()
		return SineFit{nan, nan, nan, nan, nan, nan, nan, nan, 0}
	}
	s := newSineWork(x, rate, hz)
	s.solve(false)
	return s.result(false)
}

// FitSine4 fits frequency, amplitude, phase and mean of a sine by least squares
// (IEEE 1057 "four-parameter" fit, from memory: Gauss-Newton from the frequency
// guessed). The guess may be wrong by two cycles in the record; what lies
// nearest the top of the spectrum there is taken.
//
// The uncertainties are the Cramér-Rao bounds for white noise of the residual's
// power: u(f)² = 12 rate² / ((2π)² η N(N²−1)), η = A²/(2σ²), u(A)² = 2σ²/N, u(phase at
// the first sample)² = 4/(ηN), 1/(ηN) with the frequency known (Rife and Boorstyn 1974, from memory). Where the
// residual near the line is denser than white noise of its power would be, by
// more than chance, σ² is taken from the density there.
func FitSine4(x []float64, rate, guessHz float64) (SineFit, error) {
	if err := sineTrouble(x, rate, guessHz, 8); err != nil {
		return SineFit{}, err
	}
	s := newSineWork(x, rate, nearestPeak(x, rate, guessHz))
	for range 12 {
		s.solve(true)
		step := s.stepHz / s.bin()
		s.hz += min(max(s.stepHz, -s.bin()), s.bin())
		if !(s.hz > 0 && s.hz < rate/2) {
			return SineFit{}, fmt.Errorf("signal: no sine near %g Hz: the fit ran away", guessHz)
		}
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	s.solve(false)
	return s.result(true), nil
}

// sineTrouble says why a sine cannot be fitted.
func sineTrouble(x []float64, rate, hz float64, least int) error {
	if len(x) < least {
		return fmt.Errorf("signal: found %d samples, expected %d at least to fit a sine", len(x), least)
	}
	if !(rate > 0) || !(hz > 0 && hz < rate/2) {
		return fmt.Errorf("signal: found a frequency of %g Hz at %g samples a second, expected one above 0 and below half the rate", hz, rate)
	}
	for i, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("signal: found %g as sample %d, expected a number", v, i)
		}
	}
	return nil
}

// sineWork is a fit on its way: x = c cos + s sin + dc, phases counted from the
// middle of the record, where frequency and phase do not disturb each other.
type sineWork struct {
	x             []float64
	rate, hz      float64
	c, s, dc      float64
	stepHz, power float64 // Gauss-Newton step; residual power
}

func newSineWork(x []float64, rate, hz float64) *sineWork {
	return &sineWork{x: x, rate: rate, hz: hz}
}

func (w *sineWork) bin() float64 { return w.rate / float64(len(w.x)) }

func (w *sineWork) middle() float64 { return float64(len(w.x)-1) / 2 }

// each walks over the samples with cosine and sine of the angle from the middle.
func (w *sineWork) each(do func(i int, cos, sin float64)) {
	angle := 2 * math.Pi * w.hz / w.rate
	ss, cs := math.Sincos(angle)
	var sin, cos float64
	for i := range w.x {
		if i%256 == 0 { // a recurrence from here on: exact enough for 256 steps
			sin, cos = math.Sincos(angle * (float64(i) - w.middle()))
		}
		do(i, cos, sin)
		cos, sin = cos*cs-sin*ss, sin*cs+cos*ss
	}
}

// solve fits the linear constants, and with them the step of the frequency.
func (w *sineWork) solve(withStep bool) {
	n := 3
	if withStep {
		n = 4
	}
	var gram [16]float64
	var right [4]float64
	scale := 1 / w.middle() // keeps the columns of like size
	c, s := w.c, w.s
	w.each(func(i int, cos, sin float64) {
		row := [4]float64{cos, sin, 1, (s*cos - c*sin) * (float64(i) - w.middle()) * scale}
		for a := range n {
			right[a] += row[a] * w.x[i]
			for b := range a + 1 {
				gram[a*4+b] += row[a] * row[b]
			}
		}
	})
	if withStep && c == 0 && s == 0 { // the first pass has no amplitude yet
		w.solve(false)
		w.solve(true)
		return
	}
	k := solveNormal(gram, right, n)
	w.c, w.s, w.dc = k[0], k[1], k[2]
	w.stepHz = k[3] * scale * w.rate / (2 * math.Pi)
	if !withStep {
		w.power = w.residualPower()
	}
}

// solveNormal solves the lower triangle of normal equations of n unknowns.
func solveNormal(gram [16]float64, right [4]float64, n int) [4]float64 {
	sym := mat.NewSymDense(n, nil)
	for a := range n {
		for b := range a + 1 {
			sym.SetSym(a, b, gram[a*4+b])
		}
	}
	var chol mat.Cholesky
	var out [4]float64
	if !chol.Factorize(sym) {
		return out
	}
	v := mat.NewVecDense(n, nil)
	if chol.SolveVecTo(v, mat.NewVecDense(n, right[:n])) != nil {
		return out
	}
	copy(out[:], v.RawVector().Data)
	return out
}

func (w *sineWork) residualPower() float64 {
	sum := 0.0
	w.each(func(i int, cos, sin float64) {
		r := w.x[i] - w.c*cos - w.s*sin - w.dc
		sum += r * r
	})
	return sum / float64(len(w.x))
}

// result turns the constants into a fit with uncertainties.
func (w *sineWork) result(free bool) SineFit {
	n := float64(len(w.x))
	parameters := 3.0
	if free {
		parameters = 4
	}
	variance := w.noiseVariance(w.power * n / (n - parameters))
	f := SineFit{Hz: w.hz, Amplitude: math.Hypot(w.c, w.s), DC: w.dc, ResidualRMS: math.Sqrt(w.power), N: len(w.x)}
	f.AmplitudeU = math.Sqrt(2 * variance / n)
	f.Phase = math.Remainder(math.Atan2(-w.s, w.c)-2*math.Pi*w.hz/w.rate*w.middle(), 2*math.Pi)
	if f.Amplitude == 0 {
		f.HzU, f.PhaseU = math.Inf(1), math.Inf(1)
		return f
	}
	eta := f.Amplitude * f.Amplitude / (2 * variance)
	f.PhaseU = math.Sqrt(1 / (eta * n))
	if free {
		f.HzU = w.rate / (2 * math.Pi) * math.Sqrt(12/(eta*n*(n*n-1)))
		f.PhaseU = math.Hypot(f.PhaseU, 2*math.Pi*f.HzU/w.rate*w.middle())
	}
	return f
}

// nearestPeak looks for the top of the record's spectrum within two bins of the
// guess, in steps of a quarter of a bin.
func nearestPeak(x []float64, rate, guess float64) float64 {
	mean := 0.0
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	w := newSineWork(x, rate, guess)
	best, top := guess, -1.0
	for step := -8; step <= 8; step++ {
		w.hz = guess + float64(step)/4*w.bin()
		if w.hz < w.bin()/4 || w.hz > rate/2-w.bin()/4 {
			continue
		}
		var a, b float64
		w.each(func(i int, cos, sin float64) {
			a += (x[i] - mean) * cos
			b += (x[i] - mean) * sin
		})
		if p := a*a + b*b; p > top {
			best, top = w.hz, p
		}
	}
	return best
}
