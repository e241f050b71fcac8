package signal

import (
	"fmt"
	"io"
	"math"
	"sync"
)

// loudnessWork reads blocks and hands each to one worker a channel; while they
// work the next block is read.
type loudnessWork struct {
	src      Source
	channels []*loudnessChannel
	weights  []float64
	hop      int // frames in 100 ms
	blocks   [2]*loudnessBlock
	turn     int
	frames   int64
	gate     loudnessGate
	once     sync.Once
}

type loudnessBlock struct {
	x      []float64
	frames int
	first  int64 // number of its first frame
	wait   sync.WaitGroup
}

// loudnessChannel is one channel's worker.
type loudnessChannel struct {
	work  chan *loudnessBlock
	n, of int // which channel
	hop   int
	meter *kMeter
	peak  *peakFinder // nil if not asked for
	top   float64
	buf   []float64
	parts []float64 // sums of squares of the last block's parts
}

func newLoudnessWork(src Source, o LoudnessOptions) (*loudnessWork, error) {
	if src == nil || src.Channels() < 1 {
		return nil, fmt.Errorf("signal: no source")
	}
	rate := src.Rate()
	if !(rate >= 4000 && rate <= 3e6) {
		return nil, fmt.Errorf("signal: loudness at %v samples a second, expected 4000 at least (the weighting rises up to 1.7 kHz)", rate)
	}
	weights, err := channelWeights(src.Channels(), o)
	if err != nil {
		return nil, err
	}
	w := &loudnessWork{src: src, weights: weights, hop: int(math.Floor(rate+5) / 10)}
	size := hopsInBlock * w.hop
	for i := range w.blocks {
		w.blocks[i] = &loudnessBlock{x: make([]float64, size*len(weights))}
	}
	for c := range weights {
		l := &loudnessChannel{work: make(chan *loudnessBlock, 1), n: c, of: len(weights), hop: w.hop, meter: newKMeter(rate), buf: make([]float64, size)}
		if o.TruePeak {
			l.peak = newPeakFinder()
		}
		w.channels = append(w.channels, l)
		go l.run()
	}
	return w, nil
}

// next reads a block, sends it out, and gathers the one before.
func (w *loudnessWork) next() (last bool, err error) {
	b := w.blocks[w.turn]
	if last, err = w.fill(b); err != nil {
		return last, err
	}
	if err := w.gather(w.blocks[1-w.turn]); err != nil {
		return last, err
	}
	if b.frames > 0 {
		b.wait.Add(len(w.channels))
		for _, c := range w.channels {
			c.work <- b
		}
	}
	w.turn = 1 - w.turn
	if last {
		err = w.gather(b)
	}
	return last, err
}

// fill reads until the block is full or the source ends.
func (w *loudnessWork) fill(b *loudnessBlock) (last bool, err error) {
	c := len(w.channels)
	b.frames, b.first = 0, w.frames
	for b.frames*c < len(b.x) {
		n, err := w.src.Read(b.x[b.frames*c:])
		if err == io.EOF {
			last = true
			break
		}
		if err != nil {
			return false, err
		}
		b.frames += n
	}
	w.frames += int64(b.frames)
	return last, nil
}

// gather waits for a block and takes the powers of its parts over.
func (w *loudnessWork) gather(b *loudnessBlock) error {
	if b.frames == 0 {
		return nil
	}
	b.wait.Wait()
	for i := range w.channels[0].parts {
		sum := 0.0
		for c, l := range w.channels {
			sum += w.weights[c] * l.parts[i]
			if l.parts[i]-l.parts[i] != 0 {
				return w.notNumbers(b)
			}
		}
		w.gate.add(sum / float64(w.hop))
	}
	b.frames = 0
	return nil
}

func (w *loudnessWork) notNumbers(b *loudnessBlock) error {
	i := max(0, notFinite(b.x[:b.frames*len(w.channels)]))
	return fmt.Errorf("signal: frame %d is %v, expected a number", b.first+int64(i/len(w.channels)), b.x[i])
}

func (w *loudnessWork) stop() {
	w.once.Do(func() {
		for _, b := range w.blocks {
			b.wait.Wait()
		}
		for _, c := range w.channels {
			close(c.work)
		}
	})
}

func (l *loudnessChannel) run() {
	for b := range l.work {
		l.block(b)
		b.wait.Done()
	}
}

// block works on this channel of a block: sums of squares of all full parts. A
// part that is not full comes only at the end and is left out.
func (l *loudnessChannel) block(b *loudnessBlock) {
	x := l.buf[:b.frames]
	for i := range x {
		x[i] = b.x[i*l.of+l.n]
	}
	if l.peak != nil {
		l.peak.add(x)
	}
	top := l.top
	for _, v := range x {
		if a := math.Abs(v); a > top {
			top = a
		}
	}
	l.top, l.parts = top, l.parts[:0]
	for at, part := 0, 0; ; part++ {
		to := part/partsInHop*l.hop + (part%partsInHop+1)*l.hop/partsInHop
		if to > len(x) {
			return
		}
		l.parts = append(l.parts, l.meter.squares(x[at:to]))
		at = to
	}
}

func (w *loudnessWork) loudness() (Loudness, error) {
	w.stop()
	if w.frames == 0 {
		return Loudness{}, fmt.Errorf("signal: no samples to measure a loudness of")
	}
	out := w.gate.loudness()
	out.Frames = w.frames
	peak, truePeak := 0.0, 0.0
	for _, c := range w.channels {
		peak = max(peak, c.top)
		if c.peak != nil {
			c.peak.finish()
			truePeak = max(truePeak, c.peak.max)
		}
	}
	out.PeakDB, out.TruePeakDB = 20*math.Log10(peak), 20*math.Log10(truePeak)
	return out, nil
}
