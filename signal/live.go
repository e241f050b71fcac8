package signal

import (
	"math"
	"sync"
)

// LevelReading is what a level meter shows.
type LevelReading struct {
	RMSdBFS  float64 // the mean square of the last moments, falling off exponentially
	PeakdBFS float64 // greatest absolute sample since the reading before; 0 is full scale
	HoldDBFS float64 // greatest absolute sample of the last two seconds or so
	Clipped  int64   // samples at full scale so far
}

// LevelMeter is a live level meter of one channel. It may be fed and read from
// different goroutines.
type LevelMeter struct {
	mu      sync.Mutex
	rate    float64
	timeS   float64
	mean    float64 // of squares
	peak    float64
	holds   [4]float64 // peaks of the last half seconds, the newest first
	inHold  float64    // seconds of the newest
	clipped int64
	heardS  float64
}

// The time constants of sound level meters, F and S (from memory of IEC 61672-1):
// after the sound stops the level falls by 34.74 and 4.343 dB a second.
const (
	FastS = 0.125
	SlowS = 1.0
)

// FullScale is where a sample counts as clipped: the greatest positive number
// of 16 bits, 32767/32768, reaches it.
const FullScale = 1 - 1.5/32768

const holdS = 2.0

// NewLevelMeter is a meter with the time constant F.
func NewLevelMeter(rate float64) *LevelMeter { return NewTimedLevelMeter(rate, FastS) }

// NewTimedLevelMeter is a meter with a time constant in seconds.
func NewTimedLevelMeter(rate, timeS float64) *LevelMeter {
	return &LevelMeter{rate: rate, timeS: timeS}
}

// Add feeds the next samples. What is not a number counts as silence.
func (m *LevelMeter) Add(block []float64) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if !(m.rate > 0) {
		return
	}
	keep := math.Exp(-1 / (m.rate * m.timeS))
	peak := 0.0
	for _, v := range block {
		a := math.Abs(v)
		if v-v != 0 {
			a = 0
		}
		m.mean = keep*m.mean + (1-keep)*a*a
		peak = max(peak, a)
		if a >= FullScale {
			m.clipped++
		}
	}
	if m.mean < tiny {
		m.mean = 0
	}
	m.heardS += float64(len(block)) / m.rate
	m.hold(peak, float64(len(block))/m.rate)
}

// hold keeps the peaks of the last two seconds in four parts.
func (m *LevelMeter) hold(peak, seconds float64) {
	m.peak = max(m.peak, peak)
	if m.inHold += seconds; m.inHold >= holdS/float64(len(m.holds)) {
		copy(m.holds[1:], m.holds[:])
		m.holds[0], m.inHold = 0, 0
	}
	m.holds[0] = max(m.holds[0], peak)
}

// Read returns the reading. In the first moments the mean is of what there is.
func (m *LevelMeter) Read() LevelReading {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := LevelReading{Clipped: m.clipped, PeakdBFS: 20 * math.Log10(m.peak), HoldDBFS: 20 * math.Log10(greatest(m.holds[:]))}
	full := 1 - math.Exp(-m.heardS/m.timeS)
	out.RMSdBFS = DBFS(math.Sqrt(m.mean / full))
	if full <= 0 {
		out.RMSdBFS = math.Inf(-1)
	}
	m.peak = 0
	return out
}

// LiveSpectrum is the density of what was heard last, as an exponential mean of
// half-overlapping Hann segments. It may be fed and read from different
// goroutines.
type LiveSpectrum struct {
	mu     sync.Mutex
	rate   float64
	window []float64
	buf    []float64
	work   []float64
	fill   int
	fft    *realFFT
	bins   []complex128
	mean   []float64
	weight float64 // of the segments in mean
}

// liveKeep is the share of the old mean kept at each segment: some eight
// segments count.
const liveKeep = 0.875

// NewLiveSpectrum is a live spectrum with segments of about so many frames, a
// product of 2s, 3s and 5s.
func NewLiveSpectrum(rate float64, segment int) *LiveSpectrum {
	n := smoothLength(max(leastSegment, segment))
	return &LiveSpectrum{rate: rate, window: Hann.Coefficients(n), buf: make([]float64, n), work: make([]float64, n),
		fft: newRealFFT(n), bins: make([]complex128, n/2+1), mean: make([]float64, n/2+1)}
}

// Add feeds the next samples. What is not a number counts as silence.
func (s *LiveSpectrum) Add(block []float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for len(block) > 0 {
		n := copy(s.buf[s.fill:], block)
		for i, v := range s.buf[s.fill : s.fill+n] {
			if v-v != 0 {
				s.buf[s.fill+i] = 0
			}
		}
		block, s.fill = block[n:], s.fill+n
		if s.fill == len(s.buf) {
			s.segment()
		}
	}
}

func (s *LiveSpectrum) segment() {
	mean := meanOf(s.buf)
	for i, w := range s.window {
		s.work[i] = (s.buf[i] - mean) * w
	}
	s.fft.Coefficients(s.bins, s.work)
	for k, c := range s.bins {
		s.mean[k] = liveKeep*s.mean[k] + (1-liveKeep)*(real(c)*real(c)+imag(c)*imag(c))
	}
	s.weight = liveKeep*s.weight + (1 - liveKeep)
	s.fill = copy(s.buf, s.buf[len(s.buf)/2:])
}

// Density is one-sided, full-scale² per hertz, bin k at k·rate/segment; nil until
// a first segment is full.
func (s *LiveSpectrum) Density() []float64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.weight == 0 {
		return nil
	}
	out := make([]float64, len(s.mean))
	scale := 2 / (s.rate * sumSquares(s.window) * s.weight)
	for k, p := range s.mean {
		out[k] = p * scale
		if k == 0 || 2*k == len(s.buf) {
			out[k] /= 2
		}
	}
	return out
}

// DF is the spacing of the bins in hertz.
func (s *LiveSpectrum) DF() float64 { return s.rate / float64(len(s.buf)) }
