package signal

// Watcher looks at samples as they come for places where they are not what the
// input was: zeros put in, blocks repeated, jumps of phase of a strong line. It
// keeps no more than a second of them. It is not safe for use by several
// goroutines at once.
type Watcher struct {
	rate    float64
	frames  int64
	bits    bitCount
	zeros   zeroWatch
	repeats repeatWatch
	phase   phaseWatch
}

// NewWatcher returns a watcher of one channel at a nominal sample rate in hertz.
func NewWatcher(rate float64) *Watcher {
	w := &Watcher{rate: rate}
	w.zeros.init(rate)
	w.repeats.init()
	w.phase.init(rate)
	return w
}

// Add takes the next samples.
func (w *Watcher) Add(block []float64) {
	w.bits.add(block)
	lsb := w.bits.step()
	w.zeros.add(block, lsb)
	w.repeats.add(block, lsb)
	w.phase.add(block)
	w.frames += int64(len(block))
}

// Frames is the number of samples taken.
func (w *Watcher) Frames() int64 { return w.frames }

// Gaps returns all faults found up to now in the order of their place: zeros
// put in ("zeros"), repeated blocks ("repeated block") and jumps of phase of a
// strong line ("phase jump"), of which only the place is known, not the time
// that was lost. A phase jump beside a fault of another kind is part of it and
// not named again. A fault is known at the latest 0.2 s after it.
func (w *Watcher) Gaps() []Gap {
	out := append([]Gap(nil), w.zeros.gaps...)
	out = append(out, w.repeats.gaps...)
	near := int64(0.08 * w.rate)
	for _, g := range w.phase.gaps {
		known := false
		for _, o := range out {
			if g.Frame+g.Frames > o.Frame-near && g.Frame < o.Frame+o.Frames+near {
				known = true
				break
			}
		}
		if !known {
			out = append(out, g)
		}
	}
	return sortGaps(out)
}

// Silences returns the stretches of true digital silence: exact zeros that begin
// or end as a signal does that fades out, that last a second or more, or that
// stand at the start. They are no faults by themselves.
func (w *Watcher) Silences() []Gap { return append([]Gap(nil), w.zeros.silences...) }

// gapsMost is how many faults of one kind are kept: a path that fails more often
// is useless anyway.
const gapsMost = 10000
