package signal

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// spectralLine is a maximum of a spectrum that stands out of its surroundings.
type spectralLine struct {
	hz, power float64 // power of a sine that gives it
	over      float64 // over the median round it
}

// scanner finds lines in the spectrum of a step's samples.
type scanner struct {
	rate   float64
	n      int
	fft    *realFFT
	window []float64
	buf    []float64
	coeff  []complex128
	power  []float64
	sum    float64 // of the window
}

// standsOut is how far above the median of its surroundings a line must be:
// noise gets there once in some 10^7 bins.
const standsOut = 22.0

func newScanner(rate, stepS float64) *scanner {
	n := 256
	for 2*n <= int(rate*math.Min(stepS, 1)) {
		n *= 2
	}
	s := &scanner{rate: rate, n: n, fft: newRealFFT(n), window: Hann.Coefficients(n), buf: make([]float64, n), power: make([]float64, n/2+1)}
	s.sum = floats.Sum(s.window)
	return s
}

// transform returns the power spectrum of the samples' last part.
func (s *scanner) transform(x []float64) []float64 {
	clear(s.buf)
	mean := 0.0
	x = x[max(0, len(x)-s.n):]
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for i, v := range x {
		s.buf[i] = (v - mean) * s.window[i]
	}
	s.coeff = s.fft.Coefficients(s.coeff, s.buf)
	for i, v := range s.coeff {
		s.power[i] = real(v)*real(v) + imag(v)*imag(v)
	}
	return s.power
}

// lines returns the lines of a power spectrum in a band, strongest first.
func (s *scanner) lines(power []float64, fromHz, toHz, over float64) []spectralLine {
	df := s.rate / float64(s.n)
	var out []spectralLine
	for k := max(2, int(fromHz/df)); k <= min(len(power)-3, int(toHz/df)+1); k++ {
		p := power[k]
		if p < power[k-1] || p <= power[k+1] || p == 0 {
			continue
		}
		// The cheap test first.
		if p < 3*math.Min(power[max(0, k-8)], power[min(len(power)-1, k+8)]) {
			continue
		}
		around := surroundings(power, k)
		if p < over*around {
			continue
		}
		top := (power[k-1] + p + power[k+1]) / 1.5 // von Hann's window spreads a sine's power so
		hz := (float64(k) + vertex(math.Log(power[k-1]+1e-300), math.Log(p), math.Log(power[k+1]+1e-300))) * df
		if hz < fromHz || hz > toHz {
			continue
		}
		out = append(out, spectralLine{hz, 2 * top / (s.sum * s.sum), p / math.Max(around, 1e-300)})
	}
	slices.SortFunc(out, func(a, b spectralLine) int {
		switch {
		case a.power > b.power:
			return -1
		case a.power < b.power:
			return 1
		}
		return 0
	})
	return out
}

// surroundings is the median power of some hundred bins round k, its own
// neighbours left out.
func surroundings(power []float64, k int) float64 {
	const reach, own = 60, 4
	part := make([]float64, 0, 2*reach)
	for i := max(1, k-reach); i <= min(len(power)-1, k+reach); i++ {
		if i < k-own || i > k+own {
			part = append(part, power[i])
		}
	}
	return medianOf(part)
}

// located is a tone found by search.
type located struct {
	f *toneFit
	c *channel
}

// search looks for the tone in the whole band.
func (t *toneTracker) search(like func(spectralLine) bool) *located {
	all := t.scan.lines(t.scan.transform(t.samples()), t.o.FromHz, t.o.ToHz, standsOut)
	tried := 0
	for _, s := range all {
		if _, covered := t.covering(s.hz, 0, math.Sqrt(2*s.power)); covered || !like(s) {
			continue
		}
		if f, c := t.anew(s.hz); f != nil {
			return &located{f, c}
		}
		if tried++; tried == 3 {
			break
		}
	}
	return nil
}

// slides are the slopes in Hz/s that are tried on a tone seen for the first time.
var slides = []float64{0, 2, -2, 4, -4, 6, -6, 8, -8, 10, -10, 12, -12, 16, -16, 20, -20}

// anew fits a tone of unknown slope near hz.
func (t *toneTracker) anew(hz float64) (*toneFit, *channel) {
	bestHz, bestSlope, top := hz, 0.0, 0.0
	for _, slope := range slides {
		c := t.u.channel(t.middle(), t.o.StepS, hz, slope)
		if c.to-c.from < leastSamples {
			return nil, nil
		}
		powers, bin := t.u.spectrum(c.re, c.im, c)
		all, _ := peaks(powers, bin, 8, 0.1)
		for _, p := range all {
			amp := math.Sqrt(p.power) / float64(c.to-c.from) / c.gain
			if _, covered := t.covering(hz+p.hz, 0, amp); !covered && p.power > 1.02*top {
				bestHz, bestSlope, top = hz+p.hz, slope, p.power
			}
		}
		if slope == 0 && len(all) > 0 && top > 0.8*energyOf(c)*float64(c.to-c.from) {
			break // nothing can be more like one steady tone
		}
	}
	c := t.u.channel(t.middle(), t.o.StepS, bestHz, bestSlope)
	f := t.u.fit(c, 0, 0)
	fit, ch, _ := t.judged(&f, c, leastAnew)
	if fit == nil || c.f0+f.df < t.o.FromHz {
		return nil, nil
	}
	return fit, ch
}

func energyOf(c *channel) float64 {
	e := 0.0
	for i := c.from; i < c.to; i++ {
		e += c.re[i]*c.re[i] + c.im[i]*c.im[i]
	}
	return e
}

// acquire looks for the tone for the first time.
func (t *toneTracker) acquire(now float64) (*toneFit, *channel, string) {
	all := t.scan.lines(t.scan.transform(t.samples()), t.o.FromHz, t.o.ToHz, standsOut)
	hum := t.noteHum(all)
	order := slices.Clone(all)
	if t.o.StartHz > 0 {
		slices.SortStableFunc(order, func(a, b spectralLine) int {
			return compare(math.Abs(a.hz-t.o.StartHz), math.Abs(b.hz-t.o.StartHz))
		})
	} else if len(hum) > 0 {
		order = humLast(order, hum)
	}
	for _, s := range order[:min(4, len(order))] {
		isHum := slices.Contains(hum, s) && t.o.StartHz == 0
		if isHum && t.humOnly < humPatience {
			t.humOnly++
			return nil, nil, "nothing but hum so far"
		}
		t.forgetLine(s.hz)
		f, c := t.anew(s.hz)
		if f == nil {
			continue
		}
		if len(all) > 0 && s != all[0] && t.o.StartHz == 0 {
			t.notes = append(t.notes, fmt.Sprintf("the strongest line, at %.1f Hz, lies on a multiple of a usual line frequency and was taken for hum; the tone followed begins at %.1f Hz", all[0].hz, c.f0+f.df))
		}
		if isHum {
			t.notes = append(t.notes, fmt.Sprintf("the tone followed, at %.1f Hz, lies on a multiple of the line frequency: it may be hum", c.f0+f.df))
		}
		return f, c, ""
	}
	return nil, nil, "no tone stands out of the noise"
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// forgetLine takes a line out of those known, for it is the tone.
func (t *toneTracker) forgetLine(hz float64) {
	t.lines = slices.DeleteFunc(t.lines, func(l knownLine) bool { return math.Abs(l.hz-hz) < 2*t.cover() })
}
