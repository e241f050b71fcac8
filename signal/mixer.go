package signal

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// mixer turns one unbroken stretch of samples into a complex record of some
// 800 samples a second round a chosen frequency. Its filter is three running
// means of one output interval in a row, so that whatever would fold onto the
// middle falls into a triple zero. All phases are those of the samples: a new
// frequency leaves no step.
type mixer struct {
	rate    float64
	every   int     // frames an output
	outRate float64 // outputs a second
	taps    []float64
	tuned   int // centre in steps of outRate/tuneSteps
	cos     []float64
	sin     []float64

	x      []float64 // samples kept
	xBase  int64     // frame of x[0] in the stretch
	re, im []float64 // outputs kept
	base   int64     // number of re[0]
}

// tuneSteps is how many centres lie between two multiples of the output rate:
// the phase of the centre then repeats after so many outputs, exactly.
const tuneSteps = 32

// mixerRate is about how many outputs a second there are.
const mixerRate = 800

func newMixer(rate float64) *mixer {
	m := &mixer{rate: rate, every: max(1, int(math.Round(rate/mixerRate)))}
	m.outRate = rate / float64(m.every)
	m.taps = []float64{1}
	for range 2 {
		m.taps = withRunningMean(m.taps, m.every)
	}
	floats.Scale(2/floats.Sum(m.taps), m.taps) // a cosine of peak A becomes a vector of length A
	m.tune(0)
	return m
}

// withRunningMean convolves taps with a running sum of n.
func withRunningMean(taps []float64, n int) []float64 {
	out := make([]float64, len(taps)+n-1)
	for i, v := range taps {
		for k := range n {
			out[i+k] += v
		}
	}
	return out
}

// centre is the frequency tuned to.
func (m *mixer) centre() float64 { return float64(m.tuned) * m.outRate / tuneSteps }

// gain is what the filter leaves of a tone at hz.
func (m *mixer) gain(hz float64) float64 {
	x := math.Pi * (hz - m.centre()) / m.rate
	if x == 0 || m.every == 1 {
		return 1
	}
	g := math.Sin(x*float64(m.every)) / (float64(m.every) * math.Sin(x))
	return g * g
}

// near tunes so that hz lies within reach, if it does not yet; the outputs kept
// are made anew.
func (m *mixer) near(hz float64) {
	step := m.outRate / tuneSteps
	if m.cos != nil && math.Abs(hz-m.centre()) <= 1.2*step {
		return
	}
	m.tune(int(math.Round(hz / step)))
	first := m.base
	m.re, m.im = m.re[:0], m.im[:0]
	m.base = max(first, (m.xBase+int64(m.every)-1)/int64(m.every))
	m.run()
}

func (m *mixer) tune(step int) {
	m.tuned = step
	w := 2 * math.Pi * m.centre() / m.rate
	m.cos, m.sin = make([]float64, len(m.taps)), make([]float64, len(m.taps))
	half := float64(len(m.taps)-1) / 2
	for i, h := range m.taps {
		s, c := math.Sincos(w * (float64(i) - half))
		m.cos[i], m.sin[i] = h*c, -h*s
	}
}

// run makes all outputs that the samples allow.
func (m *mixer) run() {
	n := int64(len(m.taps))
	for {
		next := m.base + int64(len(m.re))
		at := next*int64(m.every) - m.xBase
		if at < 0 || at+n > int64(len(m.x)) {
			return
		}
		part := m.x[at : at+n]
		re, im := floats.Dot(m.cos, part), floats.Dot(m.sin, part)
		// Turned back by the centre's phase at this output, one of tuneSteps.
		s, c := math.Sincos(-2 * math.Pi * float64((int64(m.tuned)*next)%tuneSteps) / tuneSteps)
		m.re = append(m.re, re*c-im*s)
		m.im = append(m.im, re*s+im*c)
	}
}

// outputAt is the number, with fraction, of the output centred on a frame of
// the stretch.
func (m *mixer) outputAt(frame float64) float64 {
	return (frame - float64(len(m.taps)-1)/2) / float64(m.every)
}

// forget drops what lies before a frame of the stretch.
func (m *mixer) forget(before int64) {
	if n := min(before-m.xBase, int64(len(m.x))); n > 0 {
		m.x = m.x[:copy(m.x, m.x[n:])]
		m.xBase += n
	}
	first := int64(math.Floor(m.outputAt(float64(before))))
	if n := min(first-m.base, int64(len(m.re))); n > 0 {
		m.re = m.re[:copy(m.re, m.re[n:])]
		m.im = m.im[:copy(m.im, m.im[n:])]
		m.base += n
	}
}

// reset begins a new stretch.
func (m *mixer) reset() {
	m.x, m.re, m.im, m.xBase, m.base = m.x[:0], m.re[:0], m.im[:0], 0, 0
}

// The channel's filter: flat to within 0.1 dB over ±15 Hz, 80 dB down from
// ±35 Hz, by a Kaiser window (Kaiser 1974, formulas from memory).
const (
	channelEvery  = 8 // mixer outputs a channel sample: about 100 a second
	channelHalf   = 100
	channelCutHz  = 25
	channelPassHz = 15
	channelBeta   = 7.857
)

func channelTaps(rate float64) []float64 {
	taps := make([]float64, 2*channelHalf+1)
	for i := range taps {
		k := float64(i - channelHalf)
		r := k / (channelHalf + 1)
		taps[i] = bessel0(channelBeta*math.Sqrt(1-r*r)) * 2 * channelCutHz / rate
		if k != 0 {
			x := 2 * math.Pi * channelCutHz * k / rate
			taps[i] *= math.Sin(x) / x
		}
	}
	floats.Scale(1/floats.Sum(taps), taps)
	return taps
}
