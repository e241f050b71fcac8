package signal

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// What a point must have to be believed.
const (
	leastEnergy  = 40.0 // 2E/N0 where the tone is expected: 16 dB
	leastAnew    = 60.0 // anywhere else
	coverHz      = 1.2  // a steady line nearer than this covers the tone, for steps of a second
	channelReach = 18.0 // Hz from the middle of a channel
	leastSamples = 16   // of a channel, clear of gaps
)

// toneTracker follows a tone, step by step. See [TrackTone].
type toneTracker struct {
	o       TrackOptions
	rate    float64
	step    float64 // frames a point
	margin  int     // frames wanted beyond a step on both sides
	feed    *feed
	m       *mixer
	u       *tuner
	scan    *scanner
	pending []float64 // a piece that begins the next stretch
	waiting bool
	start   int64   // frame of the source at which the stretch begins
	lostS   float64 // lost before the stretch
	block   int64   // number of the step within the stretch
	shift   float64 // frames of the stretch before its first step

	recent  []fix // where the tone was last, oldest first
	maybe   *fix  // seen once somewhere else
	lines   []knownLine
	humOnly int     // steps in which there was nothing but hum
	mains   float64 // line frequency by its hum, 0 where there is none
	density float64 // running density of the noise
	zone    *ZeroBeat
	runs    int
	previous
	points []TrackPoint
	detail []detail // beside points, for what is settled at the end
	beats  []ZeroBeat
	notes  []string
}

// fix is a point that was found.
type fix struct {
	timeS, hz, slope, amp float64
}

// previous is the last point's phase, for counting cycles on.
type previous struct {
	valid                    bool
	block                    int64
	cycles, hz, slope        float64
	phaseVar, hzVar, slopVar float64
	wander                   float64 // running mean square of the misfit
}

// detail is what a point's uncertainty is made from.
type detail struct {
	n1, gain, seconds float64
	dof               int
	cov               [3]float64
}

func newToneTracker(src Source, o TrackOptions) *toneTracker {
	m := newMixer(src.Rate())
	t := &toneTracker{o: o, rate: src.Rate(), step: o.StepS * src.Rate(), feed: newFeed(src, o.Gaps), m: m, u: newTuner(m),
		margin: (channelHalf+channelEvery)*m.every + len(m.taps), scan: newScanner(src.Rate(), o.StepS)}
	// A slice that grows by itself has up to twice the room, and leaves as much
	// behind.
	const most = 100_000 // a day and more by the second
	n := int(math.Max(0, math.Min(most, float64(o.Frames)/t.step+1)))
	t.points, t.detail = make([]TrackPoint, 0, n), make([]detail, 0, n)
	return t
}

// next makes the next point; more is false at the end of the source.
func (t *toneTracker) next() (more bool, err error) {
	end := int64(math.Ceil(float64(t.block+1) * t.step))
	for !t.waiting && t.have() < end+int64(t.margin) {
		if err := t.read(int(end) + t.margin - int(t.have())); err != nil {
			return false, err
		}
	}
	if t.have() >= end {
		t.m.run()
		t.point()
		t.block++
		t.m.forget(int64(float64(t.block)*t.step) - int64(t.margin))
		return true, nil
	}
	if len(t.pending) == 0 {
		return false, nil
	}
	t.begin()
	return true, nil
}

// have is the number of frames of the stretch that were read.
func (t *toneTracker) have() int64 { return t.m.xBase + int64(len(t.m.x)) }

// read takes a piece into the stretch, or keeps it where it begins the next.
func (t *toneTracker) read(most int) error {
	piece, broken, err := t.feed.next(most)
	if err != nil {
		return err
	}
	if len(piece) == 0 {
		t.waiting, t.pending = true, nil
		return nil
	}
	if broken || (t.have() == 0 && t.block == 0) {
		t.waiting, t.pending = true, piece
		return nil
	}
	t.m.x = append(t.m.x, piece...)
	return nil
}

// begin starts the stretch of the piece that waits.
func (t *toneTracker) begin() {
	t.start, t.lostS = t.feed.frame-int64(len(t.pending)), t.feed.lostS
	t.m.reset()
	t.m.x = append(t.m.x, t.pending...)
	t.pending, t.waiting, t.block = nil, false, 0
	t.previous.valid = false
}

// middle is the frame of the stretch in the middle of the step.
func (t *toneTracker) middle() float64 { return t.shift + (float64(t.block)+0.5)*t.step }

// samples are those of the step.
func (t *toneTracker) samples() []float64 {
	a := int64(math.Round(t.shift+float64(t.block)*t.step)) - t.m.xBase
	b := min(int64(math.Round(t.shift+float64(t.block+1)*t.step))-t.m.xBase, int64(len(t.m.x)))
	return t.m.x[a:b]
}

// point makes one point.
func (t *toneTracker) point() {
	p := TrackPoint{Run: -1, Frame: t.start + int64(math.Round(t.middle()))}
	p.TimeS = (float64(t.start)+t.middle())/t.rate + t.lostS
	f, c, why := t.locate(p.TimeS)
	if f == nil {
		p.Lost, p.Why, p.ZeroBeat = true, why, t.zone != nil
		t.previous.valid = false
		t.points, t.detail = append(t.points, p), append(t.detail, detail{})
		return
	}
	p.Hz, p.SlopeHzS, p.Amplitude = c.f0+f.df, c.c0+f.dc, f.amp/c.gain
	t.count(&p, f, c)
	t.ratio(&p)
	t.points = append(t.points, p)
	t.detail = append(t.detail, detail{f.n1, c.gain, f.seconds, f.dof, f.cov})
	t.learn(p, f, c)
}

// ratio sets the ratio of the tone's power to that of all else.
func (t *toneTracker) ratio(p *TrackPoint) {
	x := t.samples()
	n := float64(len(x))
	mean, tone := floats.Sum(x)/n, p.Amplitude*p.Amplitude/2
	rest := floats.Dot(x, x)/n - mean*mean - tone
	p.SNRdB = 10 * math.Log10(tone/math.Max(rest, 1e-9*tone))
}

// learn keeps what the next point is expected from.
func (t *toneTracker) learn(p TrackPoint, f *toneFit, c *channel) {
	t.recent = append(t.recent, fix{p.TimeS, p.Hz, p.SlopeHzS, p.Amplitude})
	if len(t.recent) > 6 {
		t.recent = t.recent[1:]
	}
	t.maybe = nil
	n1 := f.n1 / (c.gain * c.gain)
	if t.density == 0 {
		t.density = n1
	} else { // slowly, and not by one burst
		t.density += 0.15 * (math.Min(n1, 4*t.density) - t.density)
	}
	for _, l := range f.lines {
		// Farther out the channel weakens a line, and a weak one covers nothing.
		if math.Abs(l.hz) > channelPassHz || l.amp < 0.02*f.amp {
			continue
		}
		t.remember(c.f0+l.hz, l.amp/c.gain, f.df-l.hz, false)
	}
}

// knownLine is a line other than the tone.
type knownLine struct {
	hz, amp   float64
	seen      float64
	near, far float64 // least and largest distance from the tone when it was seen
	sure      bool    // known to stand still
}

// stands says that the line is none of the tone's own sidebands: it did not
// move along with it.
func (l knownLine) stands() bool { return l.sure || l.far-l.near > 1.5 }

// remember notes a line seen at some distance from the tone.
func (t *toneTracker) remember(hz, amp, from float64, sure bool) {
	for i := range t.lines {
		l := &t.lines[i]
		if math.Abs(l.hz-hz) < 0.5 {
			l.seen++
			l.hz += (hz - l.hz) / math.Min(l.seen, 20)
			l.amp += (amp - l.amp) / math.Min(l.seen, 20)
			l.near, l.far = math.Min(l.near, from), math.Max(l.far, from)
			return
		}
	}
	if len(t.lines) >= 64 {
		t.lines = slices.DeleteFunc(t.lines, func(l knownLine) bool { return l.seen < 3 && !l.sure })
	}
	if len(t.lines) < 64 {
		t.lines = append(t.lines, knownLine{hz, amp, 1, from, from, sure})
	}
}

// cover is how near a steady line covers the tone.
func (t *toneTracker) cover() float64 { return coverHz / math.Min(1, t.o.StepS) }

// covering returns a known steady line that a tone at hz, sliding by so much a
// second, cannot be told from.
func (t *toneTracker) covering(hz, slope, amp float64) (float64, bool) {
	reach := math.Max(t.cover(), t.cover()/2+0.6*math.Abs(slope)*t.o.StepS)
	for _, l := range t.lines {
		if math.Abs(l.hz-hz) < reach && l.amp > 0.02*amp && l.stands() {
			return l.hz, true
		}
	}
	return 0, false
}

// count counts the cycles on from the point before, or begins a run.
func (t *toneTracker) count(p *TrackPoint, f *toneFit, c *channel) {
	n1 := math.Max(f.n1, 0.5*t.density*c.gain*c.gain)
	now := previous{valid: true, block: t.block, hz: p.Hz, slope: p.SlopeHzS, wander: 4e-4,
		phaseVar: f.cov[0] * n1 / (4 * math.Pi * math.Pi), hzVar: f.cov[1] * n1, slopVar: f.cov[2] * n1}
	turns := f.phi/(2*math.Pi) + c.centre
	now.cycles = turns
	was, T := t.previous, t.o.StepS
	unbroken := false
	if was.valid && was.block == t.block-1 {
		expected := was.cycles + T*(was.hz+now.hz)/2 + T*T*(was.slope-now.slope)/12
		now.cycles += math.Round(expected - turns)
		off := expected - now.cycles
		variance := was.phaseVar + now.phaseVar + T*T*(was.hzVar+now.hzVar)/4 + T*T*T*T*(was.slopVar+now.slopVar)/144
		limit := 0.01 + 8*math.Sqrt(math.Max(variance, was.wander))
		unbroken = variance < 0.12*0.12 && math.Abs(off) < limit
		now.wander = was.wander + 0.1*(math.Min(off*off, 0.01)-was.wander)
	}
	if !unbroken {
		now.cycles = turns
		t.runs++
	}
	p.Run, p.Cycles = t.runs-1, now.cycles
	t.previous = now
}
