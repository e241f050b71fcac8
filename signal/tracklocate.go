package signal

import (
	"fmt"
	"math"
)

// locate finds the tone in the step, or says why it is lost.
func (t *toneTracker) locate(now float64) (*toneFit, *channel, string) {
	if len(t.recent) == 0 {
		return t.acquire(now)
	}
	hz, slope := t.expected(now)
	if t.zone == nil && hz < t.o.FromHz {
		last := t.recent[len(t.recent)-1]
		t.zone = &ZeroBeat{FromS: last.timeS}
	}
	if t.zone != nil {
		return t.emerge(now, hz, slope)
	}
	if line, covered := t.covering(hz, slope, t.recent[len(t.recent)-1].amp); covered {
		return t.again(now, coveredText(line), line)
	}
	f, c, why := t.measure(hz, slope, leastEnergy)
	if f == nil {
		return t.again(now, why, 0)
	}
	if t.dips(f, c) {
		t.zone = &ZeroBeat{FromS: t.recent[len(t.recent)-1].timeS}
		return nil, nil, t.zoneText()
	}
	return f, c, ""
}

func coveredText(line float64) string {
	return fmt.Sprintf("a steady line at %.1f Hz covers it", line)
}

// dips says that a tone lies below the lowest frequency during part of the step.
func (t *toneTracker) dips(f *toneFit, c *channel) bool {
	return c.f0+f.df-math.Abs(c.c0+f.dc)*t.o.StepS/2 < t.o.FromHz
}

// leaves says that a tone found slides away from zero about as fast as the one
// that was lost slid towards it. Where that was slow, anything slow will do.
func leaves(found, before float64) bool {
	fast := math.Abs(before)
	return found < 3*fast+3 && (found > 0.25*fast || fast < 1 && found > -0.5)
}

func (t *toneTracker) zoneText() string {
	return fmt.Sprintf("zero beat: below %.4g Hz the note cannot be told from its own image", t.o.FromHz)
}

// expected continues the last points in a line, to below zero if need be.
func (t *toneTracker) expected(now float64) (hz, slope float64) {
	last := t.recent[len(t.recent)-1]
	if len(t.recent) < 3 {
		slope = last.slope
	} else {
		slope = slopeOf(t.recent)
	}
	ahead := now - last.timeS
	if ahead > 30*t.o.StepS && t.zone == nil { // a slope is not believed for ever
		ahead = 30 * t.o.StepS
	}
	return last.hz + slope*ahead, slope
}

// slopeOf is the slope of the line through points.
func slopeOf(points []fix) float64 {
	var mt, mf, tt, tf float64
	n := float64(len(points))
	for _, p := range points {
		mt, mf = mt+p.timeS/n, mf+p.hz/n
	}
	for _, p := range points {
		tt += (p.timeS - mt) * (p.timeS - mt)
		tf += (p.timeS - mt) * (p.hz - mf)
	}
	if tt == 0 {
		return 0
	}
	return tf / tt
}

// measure fits the tone where it is expected.
func (t *toneTracker) measure(hz, slope, least float64) (*toneFit, *channel, string) {
	hz = math.Max(t.o.FromHz/2, math.Min(hz, t.rate/2-10))
	c := t.u.channel(t.middle(), t.o.StepS, hz, slope)
	if c.to-c.from < leastSamples {
		return nil, nil, "too little of the step lies clear of gaps"
	}
	df, found := t.nearby(c)
	if !found {
		return nil, nil, "no tone stands out of the noise"
	}
	f := t.u.fit(c, df, t.density*c.gain*c.gain)
	return t.judged(&f, c, least)
}

// nearby picks the maximum of the channel's spectrum that is most like the tone
// was: near and of like amplitude, and no known line.
func (t *toneTracker) nearby(c *channel) (df float64, found bool) {
	last := t.recent[len(t.recent)-1]
	if coherence(c) > 0.6 {
		if _, covered := t.covering(c.f0, c.c0, last.amp); !covered {
			return 0, true
		}
	}
	powers, bin := t.u.spectrum(c.re, c.im, c)
	all, median := peaks(powers, bin, channelReach, 0)
	best := math.Inf(1)
	for _, p := range all {
		if p.power < 8*median {
			continue
		}
		amp := math.Sqrt(p.power) / float64(c.to-c.from) / c.gain
		if _, covered := t.covering(c.f0+p.hz, c.c0, amp); covered {
			continue
		}
		if cost := math.Abs(p.hz)/5 + math.Abs(math.Log(amp/last.amp)); cost < best {
			best, df, found = cost, p.hz, true
		}
	}
	return df, found
}

// coherence is the share of a channel's energy that stands at its middle.
func coherence(c *channel) float64 {
	var a, b, e float64
	for i := c.from; i < c.to; i++ {
		a += c.re[i]
		b += c.im[i]
		e += c.re[i]*c.re[i] + c.im[i]*c.im[i]
	}
	if e == 0 {
		return 0
	}
	return (a*a + b*b) / e / float64(c.to-c.from)
}

// judged refuses a fit that is not to be believed.
func (t *toneTracker) judged(f *toneFit, c *channel, least float64) (*toneFit, *channel, string) {
	hz, slope := c.f0+f.df, c.c0+f.dc
	n1 := math.Max(f.n1, 0.5*t.density*c.gain*c.gain)
	switch {
	case f.dof < 2 || !(n1 > 0):
		return nil, nil, "too little is left to tell the noise by"
	case !(f.energy >= least*n1) || math.IsInf(f.cov[1], 0):
		return nil, nil, "no tone stands out of the noise"
	case math.Abs(f.df) > channelReach+2 || hz > t.o.ToHz:
		return nil, nil, "the tone has left the band"
	case t.density > 0 && f.along+f.across > math.Max(0.5*f.amp*f.amp, 8*channelNoise*t.density*c.gain*c.gain):
		return nil, nil, "something as strong lies beside it"
	case math.Sqrt(f.cov[1]*n1) > 0.25/t.o.StepS:
		return nil, nil, "too little of the tone is there"
	}
	if line, covered := t.covering(hz, slope, f.amp/c.gain); covered {
		return nil, nil, coveredText(line)
	}
	return f, c, ""
}

// again looks for a tone that was lost in the whole band. It must be seen twice
// running in a like place, and not beside a line that covers it, where the two
// make what looks like a third.
func (t *toneTracker) again(now float64, why string, covering float64) (*toneFit, *channel, string) {
	last := t.recent[len(t.recent)-1]
	gone := now - last.timeS
	found := t.search(func(s spectralLine) bool {
		amp := math.Sqrt(2 * s.power)
		if t.mains > 0 && onMultiple(s.hz, t.mains, 0.5) {
			return false
		}
		if covering > 0 && math.Abs(s.hz-covering) < 8*t.cover() {
			return false
		}
		return gone > 20*t.o.StepS || (amp > 0.2*last.amp && amp < 5*last.amp)
	})
	if found == nil {
		t.maybe = nil
		return nil, nil, why
	}
	hz, slope := found.c.f0+found.f.df, found.c.c0+found.f.dc
	seen := t.maybe
	t.maybe = &fix{timeS: now, hz: hz, slope: slope, amp: found.f.amp}
	if seen != nil && now-seen.timeS < 1.5*t.o.StepS && math.Abs(hz-seen.hz-seen.slope*(now-seen.timeS)) < 3+2*math.Abs(seen.slope)*t.o.StepS {
		t.recent = t.recent[:0]
		return found.f, found.c, ""
	}
	return nil, nil, why
}

// emerge looks for the tone while it is in zero beat: where the slope would have
// taken it on the other side, and at the lowest frequency.
func (t *toneTracker) emerge(now, hz, slope float64) (*toneFit, *channel, string) {
	low := t.o.FromHz
	type place struct{ hz, slope float64 }
	var places []place
	if hz < -low {
		places = append(places, place{-hz, -slope})
	}
	places = append(places, place{low + 12, math.Abs(slope)}, place{low + 12, 0})
	for _, p := range places {
		f, c, _ := t.measure(p.hz, p.slope, leastEnergy)
		if f == nil || !leaves(c.c0+f.dc, slope) {
			continue
		}
		// Once more, with its own slide taken out.
		if f, c, _ = t.measure(c.f0+f.df, c.c0+f.dc, leastEnergy); f == nil || t.dips(f, c) || !leaves(c.c0+f.dc, slope) {
			continue
		}
		t.leaveZone(now)
		return f, c, ""
	}
	if -hz > 4*low+20 { // should long be out: anywhere, then
		if f, c, _ := t.again(now, "", 0); f != nil {
			t.leaveZone(now)
			return f, c, ""
		}
	}
	return nil, nil, t.zoneText()
}

func (t *toneTracker) leaveZone(now float64) {
	t.zone.ToS = now
	t.beats = append(t.beats, *t.zone)
	t.zone = nil
	t.recent = t.recent[:0]
}
