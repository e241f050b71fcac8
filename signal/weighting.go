package signal

import (
	"math"
	"sort"
)

// Weighting is a frequency weighting of noise or sound.
type Weighting int

// The weightings: A and C of IEC 61672-1 (0 dB at 1 kHz); that of noise in sound
// broadcasting, ITU-R BS.468-4 (0 dB at 1 kHz, +12.2 dB at 6.3 kHz), here with
// an rms detector unless said; the telephone weightings O.41 of ITU-T
// (psophometric, 0 dB at 800 Hz, so +1.0 dB at 1 kHz) and C-message of IEEE 743
// (0 dB at 1 kHz).
const (
	Flat Weighting = iota
	WeightA
	WeightC
	Weight468
	WeightO41
	WeightCMessage
)

var weightingNames = [...]string{"flat", "A", "C", "BS.468", "O.41 (telephone)", "C-message (telephone)"}

func (w Weighting) known() bool { return w >= 0 && int(w) < len(weightingNames) }

// String is the weighting's usual name.
func (w Weighting) String() string {
	if !w.known() {
		return "unknown weighting"
	}
	return weightingNames[w]
}

// DB is the weighting at a frequency above zero, in decibels; −Inf at zero and
// below, except for Flat. Telephone weightings go between the rows of their tables in
// decibels over the logarithm of frequency, and outside them on with the slope
// of the last two rows, which is our choice: the standards end there.
func (w Weighting) DB(hz float64) float64 {
	switch {
	case w == Flat:
		return 0
	case !(hz > 0):
		return math.Inf(-1)
	}
	switch w {
	case WeightA:
		return analogueA.db(hz) - analogueA.db(1000)
	case WeightC:
		return analogueC.db(hz) - analogueC.db(1000)
	case Weight468:
		return analogue468.db(hz) - analogue468.db(1000)
	case WeightO41:
		return rowsO41.at(hz)
	case WeightCMessage:
		return rowsCMessage.at(hz)
	}
	return math.NaN()
}

// Weighted is the power of a spectrum under a weighting, full-scale², and its
// statistical standard uncertainty for something like noise.
func (s *Spectrum) Weighted(w Weighting) (power, u float64) {
	return s.WeightedBand(w, 0, s.RateHz/2)
}

// WeightedBand is the weighted power between two frequencies, both included.
func (s *Spectrum) WeightedBand(w Weighting, fromHz, toHz float64) (power, u float64) {
	first, last := s.span(fromHz, toHz)
	return s.weightedPower(first, last, func(k int) float64 {
		return math.Pow(10, w.DB(float64(k)*s.DF())/10)
	})
}

// analogue is a network by its poles, as pairs of natural frequency (rad/s) and
// damping, and its number of zeros at zero frequency.
type analogue struct {
	zeros int
	pairs []polePair
}

type polePair struct{ omega, damping float64 }

// realPair is two real poles as a pair.
func realPair(a, b float64) polePair {
	return polePair{math.Sqrt(a * b), (a + b) / (2 * math.Sqrt(a*b))}
}

// The poles of A and C in hertz (from memory; with them all 34 rows of IEC
// 61672-1:2002, table 2, come out).
const (
	weightF1 = 20.598997
	weightF2 = 107.65265
	weightF3 = 737.86223
	weightF4 = 12194.217
)

var (
	analogueA = analogue{zeros: 4, pairs: []polePair{
		realPair(2*math.Pi*weightF1, 2*math.Pi*weightF1), realPair(2*math.Pi*weightF2, 2*math.Pi*weightF3), realPair(2*math.Pi*weightF4, 2*math.Pi*weightF4),
	}}
	analogueC = analogue{zeros: 2, pairs: []polePair{
		realPair(2*math.Pi*weightF1, 2*math.Pi*weightF1), realPair(2*math.Pi*weightF4, 2*math.Pi*weightF4),
	}}
	// The network of BS.468-4, by poles in rad/s as transcribed in public.
	analogue468 = analogue{zeros: 1, pairs: []polePair{
		complexPair(23615.53521363528, 36379.90893732929), complexPair(18743.74669072136, 62460.15645250649),
		realPair(25903.70104781628, 62675.1700584679),
	}}
)

func complexPair(re, im float64) polePair {
	omega := math.Hypot(re, im)
	return polePair{omega, re / omega}
}

// db is the gain without its constant.
func (a analogue) db(hz float64) float64 {
	w := 2 * math.Pi * hz
	out := 20 * float64(a.zeros) * math.Log10(w)
	for _, p := range a.pairs {
		re, im := p.omega*p.omega-w*w, 2*p.damping*p.omega*w
		out -= 10 * math.Log10(re*re+im*im)
	}
	return out
}

// curve is a table of decibels over frequency.
type curve []struct{ hz, db float64 }

func (c curve) at(hz float64) float64 {
	i := sort.Search(len(c), func(i int) bool { return c[i].hz >= hz })
	i = max(1, min(i, len(c)-1))
	a, b := c[i-1], c[i]
	return a.db + (b.db-a.db)*math.Log(hz/a.hz)/math.Log(b.hz/a.hz)
}

var (
	// ITU-T O.41 (10/94), table 1, as printed in a ballot draft of
	// ANSI/TIA-470.120-C, table A.1.
	rowsO41 = curve{
		{16.66, -85}, {50, -63}, {100, -41}, {200, -21}, {300, -10.6}, {400, -6.3}, {500, -3.6}, {600, -2}, {700, -0.9}, {800, 0},
		{900, 0.6}, {1000, 1}, {1200, 0}, {1400, -0.9}, {1600, -1.7}, {1800, -2.4}, {2000, -3}, {2500, -4.2}, {3000, -5.6},
		{3500, -8.5}, {4000, -15}, {4500, -25}, {5000, -36}, {6000, -43},
	}
	// IEEE 743, as printed there, table A.2. The last row reads "> 28.7 dB" of
	// loss; 28.7 dB is taken.
	rowsCMessage = curve{
		{60, -55.7}, {100, -42.5}, {200, -25.1}, {300, -16.3}, {400, -11.2}, {500, -7.7}, {600, -5}, {700, -2.8}, {800, -1.3},
		{900, -0.3}, {1000, 0}, {1200, -0.4}, {1300, -0.7}, {1500, -1.2}, {1800, -1.3}, {2000, -1.1}, {2500, -1.1}, {2800, -2},
		{3000, -3}, {3300, -5.1}, {3500, -7.1}, {4000, -14.6}, {4500, -22.3}, {5000, -28.7},
	}
)
