package signal

import (
	"fmt"
	"math"
)

// Beat is a swing of level at a rate of its own.
type Beat struct {
	Hz      float64 // of the swing
	DepthDB float64 // peak to peak
	Text    string  // what swings, in words
}

// AutoGain is what speaks for a gain that changes by itself.
type AutoGain struct {
	Found     bool
	GainDB, U float64 // the greatest change of gain found
	Text      string  // what was seen, and how sure that is
}

// levelSeries is tone and noise, block by block of about an eighth of a second,
// in constant memory: when full, neighbours are put together.
type levelSeries struct {
	stepS       float64
	tone, noise []float64 // powers: the strongest line; the median density times the band
	merge, have int
	sumT, sumN  float64
}

// seriesMost is the number of blocks kept.
const seriesMost = 1 << 16

func (s *levelSeries) add(tone, noise float64) {
	s.merge = max(1, s.merge)
	s.sumT += tone
	s.sumN += noise
	if s.have++; s.have < s.merge {
		return
	}
	s.tone = append(s.tone, s.sumT/float64(s.have))
	s.noise = append(s.noise, s.sumN/float64(s.have))
	s.sumT, s.sumN, s.have = 0, 0, 0
	if len(s.tone) >= seriesMost {
		for i := 0; i < seriesMost/2; i++ {
			s.tone[i] = (s.tone[2*i] + s.tone[2*i+1]) / 2
			s.noise[i] = (s.noise[2*i] + s.noise[2*i+1]) / 2
		}
		s.tone, s.noise = s.tone[:seriesMost/2], s.noise[:seriesMost/2]
		s.merge *= 2
		s.stepS *= 2
	}
}

// modulation watches the level of tone and noise for a gain that changes by
// itself, and the lines of hum for a slow beat.
type modulation struct {
	rate   float64
	spec   *lineSpectrum
	buf    []float64
	fill   int
	series levelSeries
	sorted []float64
}

func newModulation(rate float64) *modulation {
	n := max(64, lineSize(rate, 0.125, 0))
	return &modulation{rate: rate, spec: newLineSpectrum(rate, n), buf: make([]float64, n), series: levelSeries{stepS: float64(n) / rate}}
}

func (m *modulation) add(x []float64) {
	for len(x) > 0 {
		n := copy(m.buf[m.fill:], x)
		m.fill += n
		x = x[n:]
		if m.fill == len(m.buf) {
			m.block()
			m.fill = 0
		}
	}
}

// block takes the strongest line and the noise beside the lines: the mean of the
// lower half of the densities between 150 Hz and 4 kHz.
func (m *modulation) block() {
	m.spec.transform(m.buf)
	df := m.spec.df()
	from, to := max(2, int(150/df)), min(len(m.spec.x)-2, int(4000/df))
	if to-from < 8 {
		return
	}
	best := from
	densities := m.sorted[:0]
	for k := from; k < to; k++ {
		d := m.spec.density(k)
		densities = append(densities, d)
		if d > m.spec.density(best) {
			best = k
		}
	}
	line := (m.spec.density(best-1) + m.spec.density(best) + m.spec.density(best+1)) * df
	m.sorted = densities
	m.series.add(line, lowerHalf(densities)*df*float64(to-from))
}

// autoGain judges the series.
func (m *modulation) autoGain() *AutoGain {
	s := m.series
	g := &AutoGain{}
	if len(s.tone) < 24 {
		g.Text = "too short to say whether a gain changes by itself"
		return g
	}
	t, n := levelsDB(s.tone), levelsDB(s.noise)
	if after := pumping(t, n, s.stepS); after.Found {
		return after
	}
	if common := commonSteps(t, n, s.stepS); common.Found {
		return common
	}
	g.Text = "no gain that changes by itself was seen"
	return g
}

// commonSteps looks for a sudden change of the tone that the noise shares to
// within half a decibel and what both scatter: a gain behind both. A tone that
// changes by itself leaves the noise alone.
func commonSteps(t, n []float64, stepS float64) *AutoGain {
	const side = 6
	out := &AutoGain{}
	count := 0
	for i := side; i+side < len(t); i++ {
		t1, ut1 := meanSpread(t[i-side : i])
		t2, ut2 := meanSpread(t[i+1 : i+1+side])
		n1, un1 := meanSpread(n[i-side : i])
		n2, un2 := meanSpread(n[i+1 : i+1+side])
		root := math.Sqrt(side)
		ut, un := math.Hypot(ut1, ut2)/root, math.Hypot(un1, un2)/root
		dt, dn := t2-t1, n2-n1
		u := math.Hypot(ut, un)
		toneStands := t1 > n1+6 && t2 > n2+6
		if !toneStands || u > 0.5 || math.Abs(dt) < math.Max(1.5, 6*ut) || math.Abs(dn) < math.Max(1.5, 6*un) || math.Abs(dt-dn) > 0.5+3*u {
			continue
		}
		count++
		if math.Abs(dt) > math.Abs(out.GainDB) {
			out.Found, out.GainDB, out.U = true, dt, u
		}
		i += side
	}
	if out.Found {
		out.Text = fmt.Sprintf("tone and noise change together by up to %+.1f ± %.1f dB (%d times): a gain behind both. It may be the sound input's automatic gain, the set's own or a hand on the control; fairly sure that it is no change of the tone", out.GainDB, 2*out.U, count)
	}
	return out
}

// pumping looks for noise that comes up again after loud parts: right after the
// loud part it is lower than it is two to eight seconds later, each time.
func pumping(t, n []float64, stepS float64) *AutoGain {
	out := &AutoGain{}
	var rises moments
	late := int(math.Max(4, math.Round(4/stepS)))
	for i := 4; i+late+4 < len(t); i++ {
		loud, _ := meanSpread(t[i-4 : i])
		quiet, _ := meanSpread(t[i+1 : i+3])
		if loud-quiet < 12 {
			continue
		}
		first, u1 := meanSpread(n[i+1 : i+4])
		last, u2 := meanSpread(n[i+late : i+late+4])
		still := true
		for k := i + 1; k < i+late+4; k++ {
			still = still && t[k] < loud-8
		}
		if !still || u1 > 3 || u2 > 3 {
			continue
		}
		rises.add(last - first)
		i += late
	}
	if rises.n >= 2 {
		u := math.Sqrt(rises.variance()/float64(rises.n)) + 0.3
		if rises.mean > 3 && rises.mean > 4*u {
			out.Found, out.GainDB, out.U = true, rises.mean, u
			out.Text = fmt.Sprintf("after %d loud parts the noise comes up again by %.1f ± %.1f dB within %.0f s: a gain that follows the level. It is the sound input's automatic gain or the set's own: a recording with the set's off tells them apart", rises.n, rises.mean, 2*u, float64(late)*stepS)
		}
	}
	return out
}
