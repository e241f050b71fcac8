package signal

import "math"

// LiveTone tells the frequency of the strongest tone of what came last. It is
// not safe for use by several goroutines at once.
type LiveTone struct {
	ring  []float64 // the last samples, oldest at next
	next  int
	count int64
	t     *toneTracker
}

// NewLiveTone returns a LiveTone for samples at a rate.
func NewLiveTone(rate float64) *LiveTone {
	o, err := TrackOptions{}.filled(FromSlice(rate, nil))
	if err != nil {
		return &LiveTone{}
	}
	t := newToneTracker(FromSlice(rate, nil), o)
	return &LiveTone{t: t, ring: make([]float64, int(math.Ceil(t.step))+2*t.margin)}
}

// Add takes the next samples.
func (l *LiveTone) Add(block []float64) {
	l.count += int64(len(block))
	if len(block) >= len(l.ring) {
		copy(l.ring, block[len(block)-len(l.ring):])
		l.next = 0
		return
	}
	n := copy(l.ring[l.next:], block)
	copy(l.ring, block[n:])
	l.next = (l.next + len(block)) % len(l.ring)
}

// Read returns frequency, its standard uncertainty and the level of the tone
// over the last second or so. ok is false until there is so much, and where no
// tone stands out of the noise. Lines on multiples of 50 or 60 Hz come last.
func (l *LiveTone) Read() (hz, u, dBFS float64, ok bool) {
	if len(l.ring) == 0 || l.count < int64(len(l.ring)) {
		return 0, 0, 0, false
	}
	t := l.t
	t.m.reset()
	t.m.x = append(append(t.m.x, l.ring[l.next:]...), l.ring[:l.next]...)
	t.block, t.density, t.mains, t.lines, t.notes = 0, 0, 0, nil, nil
	t.shift, t.humOnly = float64(t.margin), humPatience
	t.m.run()
	f, c, _ := t.acquire(0)
	if f == nil {
		return 0, 0, 0, false
	}
	return c.f0 + f.df, math.Sqrt(f.cov[1] * f.n1), 20 * math.Log10(f.amp/c.gain), true
}
