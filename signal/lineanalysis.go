package signal

import (
	"fmt"
	"math"
	"math/cmplx"
)

// lineAnalysis takes a recording apart block by block: a tone, its harmonics,
// hum, and what is left.
type lineAnalysis struct {
	rate   float64
	size   int
	toHz   float64
	spec   *lineSpectrum
	noise  *noiseAverage
	tone   *toneTrack // nil: no tone
	hum    *humTrack  // nil: no line frequency
	avoid  []float64
	frames int64

	blocks, pairs int
	last          int64 // first frame of the block before
	left          []float64
	lineHz        []float64
	lineAmp       []complex128
	blended       []string
	noiseAt       []float64
	humOptions    HumOptions
}

// lineBlockS is the usual length of a block in seconds.
const lineBlockS = 1

func newLineAnalysis(rate float64, frames int64, size int, fromHz, toHz float64) *lineAnalysis {
	if size == 0 {
		size = lineSize(rate, lineBlockS, frames)
	}
	a := &lineAnalysis{rate: rate, size: size, toHz: toHz, spec: newLineSpectrum(rate, size)}
	a.noise = newNoiseAverage(size/2+1, a.spec.df(), fromHz, toHz)
	a.left = make([]float64, size)
	a.last = math.MinInt64 / 2
	return a
}

func (a *lineAnalysis) blockS() float64 { return float64(a.size) / a.rate }

// block takes the next block, which begins with frame at.
func (a *lineAnalysis) block(x []float64, at int64) {
	overlap := at-a.last < int64(a.size)
	hop := float64(at-a.last) / a.rate
	if overlap {
		a.pairs++
	}
	a.blocks++
	a.last = at
	toneHz := 0.0
	a.lineHz = a.lineHz[:0]
	if a.tone != nil {
		a.tone.block(a.left, x, float64(at)/a.rate, overlap)
		toneHz = a.tone.fit.hz
		a.lineHz = append(a.lineHz, a.tone.spectral()...)
	} else {
		copy(a.left, x)
	}
	a.spec.transform(a.left)
	tones := len(a.lineHz)
	a.addHumLines(toneHz)
	if cap(a.lineAmp) < len(a.lineHz) {
		a.lineAmp = make([]complex128, len(a.lineHz))
	}
	a.lineAmp = a.lineAmp[:len(a.lineHz)]
	a.spec.lines(a.lineHz, a.lineAmp)
	if a.tone != nil {
		a.tone.harmonics(a.lineAmp[:tones])
		a.lineHz = append(a.lineHz, a.tone.guards()...)
	}
	a.lineHz = append(a.lineHz, a.avoid...)
	a.noise.add(a.spec, toneHz, a.lineHz)
	if a.hum != nil {
		a.followHum(a.lineAmp[tones:], hop, overlap)
	}
}

// addHumLines puts the harmonics of the line frequency on the list: those that
// fall on one of the tone's are left out (frequency 0) and named.
func (a *lineAnalysis) addHumLines(toneHz float64) {
	if a.hum == nil {
		return
	}
	a.blended = a.blended[:0]
	for h := 1; h <= a.hum.harmonics; h++ {
		hz := a.hum.hz * float64(h)
		with := a.blendOf(hz, h, toneHz)
		a.blended = append(a.blended, with)
		if with != "" || hz >= a.rate/2-2*a.spec.df() {
			hz = 0
		}
		a.lineHz = append(a.lineHz, hz)
	}
}

// blendOf names the line of the tone from which a harmonic of the line frequency
// cannot be told, or "".
func (a *lineAnalysis) blendOf(hz float64, h int, toneHz float64) string {
	df := a.spec.df()
	if toneHz > 0 {
		if math.Abs(hz-toneHz) < float64(toneGuard)*df {
			return fmt.Sprintf("%d × line frequency falls on the tone", h)
		}
		n := math.Round(hz / toneHz)
		if n >= 2 && n <= float64(a.tone.highest) && math.Abs(hz-n*toneHz) < 3*df {
			return fmt.Sprintf("%d × line frequency falls on harmonic %.0f of the tone", h, n)
		}
	}
	if near(hz, a.avoid, 4*df) {
		return fmt.Sprintf("%d × line frequency falls on a frequency to be avoided", h)
	}
	return ""
}

// followHum counts the hum of a block and lets the line frequency follow.
func (a *lineAnalysis) followHum(amp []complex128, hop float64, overlap bool) {
	a.noiseAt = a.noiseAt[:0]
	for i := range amp {
		s := a.noise.at(a.hum.hz * float64(i+1))
		a.noiseAt = append(a.noiseAt, 2*lineVariance*s/a.blockS())
	}
	a.hum.count(amp, a.blended)
	if !overlap {
		hop = 0
	}
	a.hum.follow(amp, a.noiseAt, hop)
}

// toneTrack follows a tone from block to block.
type toneTrack struct {
	fitter  *blockFitter
	fit     blockFit
	share   float64
	highest int
	rate    float64
	nearest bool // harmonics are read from the spectrum, not by projection

	started bool
	beforeS float64
	phase   float64 // unwrapped, radians, at the middle of the block
	runs    []phaseRun
	level   moments // power by block
	hz      moments
	sum     []complex128 // of each harmonic, turned back by n times the tone's phase
	square  []moments    // power of each
	amp     []complex128
	un, vn  []float64
	list    []float64
	aside   []float64
}

// phaseRun is the sums for a straight line through the phases of blocks that
// follow one another.
type phaseRun struct {
	n                int
	t0, p0           float64
	t, p, tt, tp, pp float64
	lastS            float64
}

func newToneTrack(rate float64, size int, w []float64, hz float64, highest int) *toneTrack {
	t := &toneTrack{fitter: newBlockFitter(rate, size, w), rate: rate, highest: highest}
	t.fit.hz = hz
	t.share = t.fitter.noiseShare()
	t.sum, t.square, t.amp = make([]complex128, highest+1), make([]moments, highest+1), make([]complex128, highest+1)
	return t
}

// toneSpan is how far a tone may jump between two blocks and be found again,
// in hertz.
const toneSpan = 20

// block fits the tone in a block that begins at startS and leaves the rest in
// left.
func (t *toneTrack) block(left, x []float64, startS float64, follows bool) {
	before := t.fit
	hz, slope, span := before.hz, before.rate, float64(toneSpan)
	if t.started {
		dt := startS - t.beforeS
		if dt < 2*float64(t.fitter.n)/t.rate {
			hz += slope * dt
		}
		span = math.Min(span, hz/4)
	} else {
		slope, span = 0, math.Min(3, hz/4)
	}
	// A tone that goes on as it did is found where it is expected; only one that
	// has lost half its power is looked for.
	t.fit = blockFit{}
	if t.started {
		t.fit = t.fitter.fit(x, hz, slope, 0)
	}
	if !t.started || t.fit.power < 0.5*before.power {
		t.fit = t.fitter.fit(x, hz, slope, span)
	}
	t.fitter.subtract(left, x, t.fit)
	t.count(before, startS, follows && t.started)
	t.started, t.beforeS = true, startS
	block := float64(t.fitter.n) / t.rate
	t.nearest = math.Abs(t.fit.rate)*block*block*float64(t.highest) < 0.2
	if !t.nearest {
		t.project(left)
	}
}

// count keeps the phase, the level and the frequency of the block.
func (t *toneTrack) count(before blockFit, startS float64, follows bool) {
	phase := cmplx.Phase(t.fit.c[0])
	if follows {
		expect := t.phase + math.Pi*(before.hz+t.fit.hz)*(startS-t.beforeS)
		phase += 2 * math.Pi * math.Round((expect-phase)/(2*math.Pi))
	} else {
		t.runs = append(t.runs, phaseRun{t0: startS, p0: phase})
		if len(t.runs) > 64 { // keep the longest
			t.runs = append(t.runs[:0], longestRun(t.runs), t.runs[len(t.runs)-1])
		}
	}
	t.phase = phase
	t.runs[len(t.runs)-1].add(startS, phase)
	t.level.add(t.fit.power)
	t.hz.add(t.fit.hz)
}

func (r *phaseRun) add(s, phase float64) {
	s, phase = s-r.t0, phase-r.p0
	r.n++
	r.lastS = s
	r.t += s
	r.p += phase
	r.tt += s * s
	r.tp += s * phase
	r.pp += phase * phase
}

func longestRun(runs []phaseRun) phaseRun {
	best := phaseRun{}
	for _, r := range runs {
		if r.n > best.n {
			best = r
		}
	}
	return best
}

// spectral lists the harmonics to be read from the spectrum of what is left.
func (t *toneTrack) spectral() []float64 {
	t.list = t.list[:0]
	if t.nearest {
		for n := 2; n <= t.highest; n++ {
			t.list = append(t.list, t.usable(n))
		}
	}
	return t.list
}

// usable is the frequency of a harmonic, or 0 above what the sample rate holds.
func (t *toneTrack) usable(n int) float64 {
	hz := t.fit.hz * float64(n)
	if hz > t.rate/2-3*t.rate/float64(t.fitter.n) {
		return 0
	}
	return hz
}

// guards are harmonics taken off by projection, whose bins are no noise.
func (t *toneTrack) guards() []float64 {
	t.aside = t.aside[:0]
	if !t.nearest {
		for n := 2; n <= t.highest; n++ {
			t.aside = append(t.aside, t.usable(n))
		}
	}
	return t.aside
}

// harmonics counts the harmonics of a block; amp are those read from the
// spectrum, empty if they were projected.
func (t *toneTrack) harmonics(amp []complex128) {
	for i, a := range amp {
		t.amp[i+2] = a
	}
	phase := cmplx.Phase(t.fit.c[0])
	for n := 2; n <= t.highest; n++ {
		if t.usable(n) == 0 {
			continue
		}
		t.sum[n] += t.amp[n] * cmplx.Rect(1, -float64(n)*phase)
		t.square[n].add(peakPower(t.amp[n]))
	}
}

// project reads the harmonics of a tone that sweeps within the block: on the
// n-th power of the tone's own phasor.
func (t *toneTrack) project(left []float64) {
	f := t.fitter
	if t.un == nil {
		t.un, t.vn = make([]float64, f.n), make([]float64, f.n)
	}
	copy(t.un, f.ur)
	copy(t.vn, f.ui)
	norm := 0.0
	for _, w := range f.w2 {
		norm += w
	}
	for n := 2; n <= t.highest; n++ {
		var re, im float64
		for i, r := range t.un {
			j := t.vn[i]
			r, j = r*f.ur[i]-j*f.ui[i], r*f.ui[i]+j*f.ur[i]
			t.un[i], t.vn[i] = r, j
			v := left[i] * f.w2[i]
			re += v * r
			im -= v * j
		}
		t.amp[n] = 0
		if t.usable(n) == 0 {
			continue
		}
		re, im = 2*re/norm, 2*im/norm
		t.amp[n] = complex(re, im)
		for i, r := range t.un {
			left[i] -= re*r - im*t.vn[i]
		}
	}
}
