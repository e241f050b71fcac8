package signal

import "math"

// decimator keeps one of so many samples, behind a low-pass with a Kaiser window
// that lets nothing fold down below a quarter of the new rate: from three
// quarters of it on all is down by 70 dB (J. F. Kaiser's formulas, from A. V.
// Oppenheim and R. W. Schafer, Discrete-Time Signal Processing, from memory).
type decimator struct {
	rate  float64 // the new one
	every int
	taps  []float64
	past  []float64 // the last samples, fewer than taps
}

// newDecimator makes the lowest rate of a whole part of rate that is at least
// least.
func newDecimator(rate, least float64) *decimator {
	d := &decimator{every: max(1, int(rate/least))}
	d.rate = rate / float64(d.every)
	if d.every == 1 {
		return d
	}
	const attenuation = 70
	beta := 0.1102 * (attenuation - 8.7)
	width := math.Pi / float64(d.every) // of the transition, radians a sample
	half := int(math.Ceil((attenuation - 7.95) / (2.285 * width) / 2))
	d.taps = make([]float64, 2*half+1)
	sum := 0.0
	for i := range d.taps {
		t := float64(i - half)
		d.taps[i] = kaiser(t/float64(half), beta) * sinc(t/float64(d.every))
		sum += d.taps[i]
	}
	for i := range d.taps {
		d.taps[i] /= sum
	}
	return d
}

// add takes the next samples and appends to out what comes of them.
func (d *decimator) add(out, x []float64) []float64 {
	if d.every == 1 {
		return append(out, x...)
	}
	d.past = append(d.past, x...)
	at := 0 // of the first tap
	for ; at+len(d.taps) <= len(d.past); at += d.every {
		out = append(out, dotProduct(d.taps, d.past[at:]))
	}
	d.past = d.past[:copy(d.past, d.past[at:])]
	return out
}
