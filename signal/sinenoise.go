package signal

import "math"

// nearLine is how many bins of the record's own resolution on either side of
// the line tell the density of the residual there; the ones next to it are
// those that the fit takes away.
const nearLineFrom, nearLineTo = 2, 16

// noiseVariance returns the variance of white noise as dense as the residual is
// near the line, or the residual's own where the two agree within chance.
func (w *sineWork) noiseVariance(white float64) float64 {
	if len(w.x) < 16*nearLineTo {
		return white
	}
	near, bins := w.nearVariance()
	// Exponential powers of so many bins average to 1 ± 1/sqrt(bins).
	if bins == 0 || (near < white*(1+2.5/math.Sqrt(bins)) && near > white*(1-2.5/math.Sqrt(bins))) {
		return white
	}
	return near
}

// nearVariance mixes the residual to the line, averages it to a few hundred
// points and takes the mean power of the bins on both sides.
func (w *sineWork) nearVariance() (variance, bins float64) {
	const points = 256
	var re, im [points]float64
	n := len(w.x)
	w.each(func(i int, cos, sin float64) {
		r := w.x[i] - w.c*cos - w.s*sin - w.dc
		p := i * points / n
		re[p] += r * cos
		im[p] -= r * sin
	})
	sum := 0.0
	for m := nearLineFrom; m <= nearLineTo; m++ {
		for _, k := range [2]int{m, -m} {
			if at := w.hz + float64(k)*w.bin(); at < w.bin() || at > w.rate/2-w.bin() {
				continue
			}
			sum += dftPower(re[:], im[:], k)
			bins++
		}
	}
	if bins == 0 {
		return 0, 0
	}
	return sum / bins / float64(n), bins
}

// dftPower is the power of bin k of a complex record.
func dftPower(re, im []float64, k int) float64 {
	var a, b float64
	for p := range re {
		s, c := math.Sincos(2 * math.Pi * float64(k*p) / float64(len(re)))
		a += re[p]*c + im[p]*s
		b += im[p]*c - re[p]*s
	}
	return a*a + b*b
}
