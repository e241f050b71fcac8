package signal

import "math"

// Window is a weighting of the samples of a segment before its transform.
type Window int

// The windows, with their noise bandwidth in bins: Hann 1.5, rectangular 1,
// Hamming 1.3628, Blackman-Harris (four terms) 2.0044, flat-top (five terms)
// 3.7702. Flat-top is for levels of lines, Blackman-Harris for weak lines beside
// strong ones. Definitions: F. J. Harris, Proc. IEEE 66 (1978) 51-83; flat-top
// as in the tables of Heinzel, Rüdiger and Schilling (2002).
const (
	Hann Window = iota
	Rectangular
	Hamming
	BlackmanHarris
	FlatTop
)

// cosineTerms are the coefficients of sum (-1)^k a_k cos(2πkn/N).
var cosineTerms = [...][]float64{
	Hann:           {0.5, 0.5},
	Rectangular:    {1},
	Hamming:        {0.54, 0.46},
	BlackmanHarris: {0.35875, 0.48829, 0.14128, 0.01168},
	FlatTop:        {0.21557895, 0.41663158, 0.277263158, 0.083578947, 0.006947368},
}

var windowNames = [...]string{"Hann", "rectangular", "Hamming", "Blackman-Harris", "flat-top"}

func (w Window) known() bool { return w >= 0 && int(w) < len(cosineTerms) }

// String is the window's usual name.
func (w Window) String() string {
	if !w.known() {
		return "unknown window"
	}
	return windowNames[w]
}

// terms are those of the window; an unknown one is taken as Hann.
func (w Window) terms() []float64 {
	if !w.known() {
		w = Hann
	}
	return cosineTerms[w]
}

// Coefficients are the n values of the window, periodic (DFT-even): one more
// would begin again.
func (w Window) Coefficients(n int) []float64 {
	out := make([]float64, max(n, 0))
	a := w.terms()
	for i := range out {
		sign := 1.0
		for k, c := range a {
			out[i] += sign * c * math.Cos(2*math.Pi*float64(k)*float64(i)/float64(n))
			sign = -sign
		}
	}
	return out
}

// NENBW is the noise bandwidth of the window of length n in bins,
// n·sum(w²)/(sum w)².
func (w Window) NENBW(n int) float64 {
	sum, squares := 0.0, 0.0
	for _, c := range w.Coefficients(n) {
		sum += c
		squares += c * c
	}
	return float64(n) * squares / (sum * sum)
}

// CoherentGain is the mean of the window of length n: what it leaves of the
// amplitude of a line in the middle of a bin.
func (w Window) CoherentGain(n int) float64 {
	sum := 0.0
	for _, c := range w.Coefficients(n) {
		sum += c
	}
	return sum / float64(n)
}

// correlation is the squared normalised correlation of the spectra of two
// segments of noise, hop samples apart and lag bins apart:
// |sum w(i)·w(i+hop)·exp(2πi·lag·i/n)|² / (sum w²)² (Welch 1967, for lag 0).
func correlation(w []float64, hop, lag int) float64 {
	var re, im, squares float64
	n := len(w)
	for i, c := range w {
		squares += c * c
		if i+hop < n {
			s, co := math.Sincos(2 * math.Pi * float64(lag) * float64(i) / float64(n))
			re += c * w[i+hop] * co
			im += c * w[i+hop] * s
		}
	}
	return (re*re + im*im) / (squares * squares)
}

// smoothLength is the greatest number up to n without a prime factor over 5,
// which the transform does fast; 1 at least.
func smoothLength(n int) int {
	for ; n > 1; n-- {
		m := n
		for _, p := range [...]int{2, 3, 5} {
			for m%p == 0 {
				m /= p
			}
		}
		if m == 1 {
			break
		}
	}
	return max(n, 1)
}
