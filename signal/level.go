package signal

import (
	"context"
	"fmt"
	"io"
	"math"
)

// LevelOptions says how a level is measured; the zero value is a plain one.
type LevelOptions struct {
	Weighting Weighting // of RMS; peaks are those of the samples as they are
	TruePeak  bool      // look between the samples too
	Gaps      []Gap
	Frames    int64 // length of the source if known, for the progress
}

// Level is the level of a recording, linear, full scale ±1.
type Level struct {
	Frames   int64   // that count, gaps left out
	RMS      float64 // without the mean, weighted if asked
	U        float64 // one standard uncertainty of RMS: what another stretch of the same sound, as long, would differ by
	DC       float64 // the mean
	Peak     float64 // greatest absolute sample
	TruePeak float64 // greatest absolute value of the waveform through the samples; 0 if not asked for
}

// DBFS is a level in decibels relative to the rms of a full-scale sine.
func DBFS(rms float64) float64 { return 20 * math.Log10(rms*math.Sqrt2) }

// MeasureLevel measures the level of a source of one channel.
func MeasureLevel(ctx context.Context, src Source, o LevelOptions, progress func(float64)) (Level, error) {
	f, err := newStretchFeed(ctx, src, o.Gaps, o.Frames, progress)
	if err != nil {
		return Level{}, err
	}
	m, err := newLevelWork(src.Rate(), o)
	if err != nil {
		return Level{}, err
	}
	buf := make([]float64, feedBlock)
	for {
		n, begins, err := f.read(buf)
		if err == io.EOF {
			break
		}
		if err != nil {
			return Level{}, err
		}
		m.add(buf[:n], begins)
	}
	return m.level()
}

// levelWork gathers a level.
type levelWork struct {
	filter, fresh *Filter // weighting, nil for none
	peak          *peakFinder
	out           Level
	sum           float64 // of the samples, unweighted
	powers        batches
}

func newLevelWork(rate float64, o LevelOptions) (*levelWork, error) {
	m := &levelWork{}
	if o.Weighting != Flat {
		w, err := NewFilter(o.Weighting, rate)
		if err != nil {
			return nil, err
		}
		m.filter, m.fresh = w, w
	}
	if o.TruePeak {
		m.peak = newPeakFinder()
	}
	m.powers.length = max(1, int(rate/200))
	return m, nil
}

func (m *levelWork) add(x []float64, begins bool) {
	m.out.Frames += int64(len(x))
	for _, v := range x {
		m.sum += v
		if a := math.Abs(v); a > m.out.Peak {
			m.out.Peak = a
		}
	}
	if m.peak != nil {
		if begins {
			m.peak.restart()
		}
		m.peak.add(x)
	}
	if m.filter != nil {
		if begins {
			m.filter = m.fresh.Fresh()
		}
		m.filter.Process(x)
	}
	m.powers.add(x)
}

func (m *levelWork) level() (Level, error) {
	if m.out.Frames == 0 {
		return Level{}, fmt.Errorf("signal: no samples to measure a level of")
	}
	out := m.out
	out.DC = m.sum / float64(out.Frames)
	if m.peak != nil {
		m.peak.finish()
		out.TruePeak = max(out.Peak, m.peak.max)
	}
	power, u := m.powers.meanPower()
	out.RMS = math.Sqrt(power)
	if out.RMS > 0 {
		out.U = u / (2 * out.RMS)
	}
	return out, nil
}

// batches are sums over successive batches of equal length. When there are
// mostBatches of them, neighbours are joined, so that memory does not grow.
type batches struct {
	length     int // samples in a batch
	sum, power []float64
	s1, s2     float64 // of the batch being filled
	n          int
}

// Between half of them and all of them there are, enough for a good estimate
// of their scatter; each is then long against the memory of the sound.
const mostBatches = 128

func (b *batches) add(x []float64) {
	for len(x) > 0 {
		k := min(len(x), b.length-b.n)
		for _, v := range x[:k] {
			b.s1 += v
			b.s2 += v * v
		}
		x, b.n = x[k:], b.n+k
		if b.n == b.length {
			b.sum, b.power = append(b.sum, b.s1), append(b.power, b.s2)
			b.s1, b.s2, b.n = 0, 0, 0
			if len(b.sum) == mostBatches {
				b.join()
			}
		}
	}
}

func (b *batches) join() {
	half := len(b.sum) / 2
	for i := range half {
		b.sum[i] = b.sum[2*i] + b.sum[2*i+1]
		b.power[i] = b.power[2*i] + b.power[2*i+1]
	}
	b.sum, b.power, b.length = b.sum[:half], b.power[:half], 2*b.length
}

// meanPower is the mean power about the mean, and its standard uncertainty by the
// scatter of the batches (the method of batch means).
func (b *batches) meanPower() (power, u float64) {
	n, s1, s2 := float64(b.n), b.s1, b.s2
	for i := range b.sum {
		n += float64(b.length)
		s1 += b.sum[i]
		s2 += b.power[i]
	}
	mean := s1 / n
	power = max(0, s2/n-mean*mean)
	k := float64(len(b.sum))
	if k < 2 {
		return power, power // one value: nothing is known of its scatter
	}
	squares := 0.0
	for i := range b.sum {
		p := (b.power[i]-2*mean*b.sum[i])/float64(b.length) + mean*mean
		squares += (p - power) * (p - power)
	}
	return power, math.Sqrt(squares / (k - 1) / k)
}
