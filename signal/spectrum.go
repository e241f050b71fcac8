package signal

import (
	"fmt"
	"math"
)

// SpectrumOptions says how a spectrum is made; the zero value is sensible.
type SpectrumOptions struct {
	Segment  int     // frames of a segment, cut to a product of 2s, 3s and 5s; 0: 65536, or what the record has if that is less
	Overlap  float64 // share of a segment that the next one has too, below 1; 0: one half; negative: none
	Window   Window
	KeepMean bool  // the mean of a segment is not taken off
	Gaps     []Gap // no segment lies across one
	Frames   int64 // length of the source if known, for the progress
}

// Spectrum is a mean power density.
type Spectrum struct {
	RateHz    float64
	Segment   int // frames of a segment
	Window    Window
	ENBWHz    float64   // noise bandwidth of a bin; density times it is the power of a line
	Density   []float64 // one-sided, full-scale² per hertz; bin k lies at k·DF()
	Segments  int       // averaged
	Effective float64   // as many independent segments would scatter as much: the relative standard uncertainty of a bin of noise is 1/sqrt(Effective)
	MeanKept  bool      // the mean of a segment was not taken off
	Left      []string  // what was left out
}

// DF is the spacing of the bins in hertz.
func (s *Spectrum) DF() float64 { return s.RateHz / float64(s.Segment) }

// Bin is the bin nearest to a frequency, within the spectrum.
func (s *Spectrum) Bin(hz float64) int {
	k := math.Round(hz / s.DF())
	if !(k > 0) {
		return 0
	}
	return int(min(k, float64(len(s.Density)-1)))
}

// span is the range of bins, first to last, whose middles lie in a band; last
// is less than first where none does.
func (s *Spectrum) span(fromHz, toHz float64) (first, last int) {
	df := s.DF()
	first = int(max(0, math.Ceil(fromHz/df-1e-9)))
	last = int(min(float64(len(s.Density)-1), math.Floor(toHz/df+1e-9)))
	return first, last
}

// BandPower is the power between two frequencies, both included, in full-scale²:
// the sum of the bins there times their spacing. u is its statistical standard
// uncertainty for something like noise; the power of a steady tone scatters
// less.
func (s *Spectrum) BandPower(fromHz, toHz float64) (power, u float64) {
	first, last := s.span(fromHz, toHz)
	return s.weightedPower(first, last, func(int) float64 { return 1 })
}

// weightedPower is the sum of bins times weights times spacing.
func (s *Spectrum) weightedPower(first, last int, weight func(bin int) float64) (power, u float64) {
	cov := s.lagCovariance()
	recent := make([]float64, len(cov)) // the last few terms
	variance := 0.0
	for k := first; k <= last; k++ {
		p := s.Density[k] * weight(k)
		power += p
		variance += p * p * cov[0]
		for j := 1; j < len(cov); j++ {
			variance += 2 * p * recent[(k-j+len(cov)*2)%len(cov)] * cov[j]
		}
		recent[k%len(cov)] = p
	}
	return power * s.DF(), math.Sqrt(variance) * s.DF()
}

// lagCovariance is the relative covariance of two bins of noise 0, 1, 2 ...
// apart. The averages of overlapping segments hold the same data twice, so that
// the sum over a band of width B scatters by 1/sqrt(BT).
func (s *Spectrum) lagCovariance() []float64 {
	out := make([]float64, len(s.Window.terms())*2-1)
	if s.Effective <= 0 {
		return out
	}
	// The shape does not depend on the length: a short window will do.
	w := s.Window.Coefficients(256)
	for j := range out {
		out[j] = correlation(w, 0, j) / s.Effective
	}
	return out
}

// Total is the power of all bins.
func (s *Spectrum) Total() float64 {
	p, _ := s.weightedPower(0, len(s.Density)-1, func(int) float64 { return 1 })
	return p
}

// check says whether a spectrum can be worked on.
func (s *Spectrum) check() error {
	if s == nil || len(s.Density) < 2 || s.Segment < 2 || !(s.RateHz > 0) {
		return fmt.Errorf("signal: the spectrum is empty")
	}
	return nil
}

// effective is how many independent segments would scatter as k segments with
// windows hop samples apart (Welch, IEEE Trans. AU-15 (1967) 70-73).
func effective(window []float64, hop, k int) float64 {
	if k < 1 {
		return 0
	}
	v := 1.0
	for r := 1; r < k && r*hop < len(window); r++ {
		v += 2 * (1 - float64(r)/float64(k)) * correlation(window, r*hop, 0)
	}
	return float64(k) / v
}
