package signal

import (
	"context"
	"fmt"
	"io"
	"math"
	"sync"
)

const (
	defaultSegment = 65536
	leastSegment   = 16
	// lanes is how many segments are transformed at once. Segment i always goes
	// to lane i mod lanes, so that sums, and with them the digits, are the same
	// on every machine.
	lanes = 4
)

// Welch is the mean power density of a source of one channel: it is cut into
// overlapping segments, each windowed and transformed, and their squared
// magnitudes averaged (P. D. Welch, IEEE Trans. AU-15 (1967) 70-73):
// P(k) = c·|X(k)|²/(rate·sum w²) with c = 2, or 1 at zero and at half the rate.
// Memory does not grow with the length of the source.
func Welch(ctx context.Context, src Source, o SpectrumOptions, progress func(float64)) (*Spectrum, error) {
	f, err := newStretchFeed(ctx, src, o.Gaps, o.Frames, progress)
	if err != nil {
		return nil, err
	}
	n, err := o.segment()
	if err != nil {
		return nil, err
	}
	if !(o.Overlap < 1) || !o.Window.known() {
		return nil, fmt.Errorf("signal: overlap %v of windows no. %d, expected an overlap below 1 and a window of the list", o.Overlap, o.Window)
	}
	c := newCutter(n, o)
	defer c.pool.stop()
	if err := c.run(f); err != nil {
		return nil, err
	}
	if c.count == 0 {
		return c.short(f, o)
	}
	return c.spectrum(f), nil
}

// segment is the length of a segment by the options.
func (o SpectrumOptions) segment() (int, error) {
	if o.Segment != 0 && o.Segment < leastSegment {
		return 0, fmt.Errorf("signal: segments of %d frames, expected %d at least", o.Segment, leastSegment)
	}
	if o.Segment != 0 {
		return smoothLength(o.Segment), nil
	}
	n := int64(defaultSegment)
	if o.Frames > 0 {
		longest := int64(0)
		for _, s := range Stretches(o.Frames, o.Gaps) {
			longest = max(longest, s.To-s.From)
		}
		n = max(leastSegment, min(n, longest))
	}
	return smoothLength(int(n)), nil
}

// hop is the distance of the starts of two segments of n frames.
func (o SpectrumOptions) hop(n int) int {
	switch {
	case o.Overlap < 0:
		return n
	case o.Overlap == 0:
		return max(1, n/2)
	}
	return max(1, n-int(math.Round(o.Overlap*float64(n))))
}

// cutter cuts what a feed gives into segments and hands them to the lanes.
type cutter struct {
	o       SpectrumOptions
	n, hop  int
	pool    *transformers
	buf     []float64 // the segment being filled
	fill    int
	count   int
	longest []float64 // longest stretch shorter than a segment, until there is a segment
	tails   int64     // frames at ends of stretches that filled no segment
	fresh   int       // of those in buf, how many are in no segment yet
}

func newCutter(n int, o SpectrumOptions) *cutter {
	pool := newTransformers(n, o)
	return &cutter{o: o, n: n, hop: o.hop(n), pool: pool, buf: pool.buffer()}
}

func (c *cutter) run(f *stretchFeed) error {
	for {
		n, begins, err := f.read(c.buf[c.fill:min(c.n, c.fill+feedBlock)])
		if err == io.EOF {
			c.endStretch(c.fill)
			return nil
		}
		if err != nil {
			return err
		}
		if begins && c.fill > 0 {
			// What was just read belongs to the new stretch.
			c.endStretch(c.fill)
			copy(c.buf, c.buf[c.fill:c.fill+n])
			c.fill, c.fresh = 0, 0
		}
		c.fill += n
		c.fresh += n
		if c.fill == c.n {
			c.cut()
		}
	}
}

// cut hands the full segment over and begins the next with what overlaps.
func (c *cutter) cut() {
	full := c.buf
	c.buf = c.pool.buffer()
	c.fill = copy(c.buf, full[min(c.hop, c.n):])
	c.fresh = 0
	c.pool.do(c.count, full)
	c.count++
	c.longest = nil
}

// endStretch keeps account of samples that fill no segment.
func (c *cutter) endStretch(fill int) {
	c.tails += int64(c.fresh)
	if c.count == 0 && fill > len(c.longest) {
		c.longest = append(c.longest[:0], c.buf[:fill]...)
	}
}

// short makes a spectrum of the longest stretch where no segment could be
// filled and none was asked for.
func (c *cutter) short(f *stretchFeed, o SpectrumOptions) (*Spectrum, error) {
	least := leastSegment
	if o.Segment != 0 {
		least = c.n
	}
	if len(c.longest) < least {
		return nil, fmt.Errorf("signal: the longest stretch without a gap has %d frames, expected %d at least", len(c.longest), least)
	}
	o.Segment, o.Gaps, o.Frames = len(c.longest), nil, 0
	s, err := Welch(f.ctx, FromSlice(f.src.Rate(), c.longest), o, nil)
	if err == nil && c.tails+f.left > int64(s.Segment) {
		s.Left = append(s.Left, leftOut("shorter stretches and gaps", c.tails+f.left-int64(s.Segment), s.RateHz))
	}
	return s, err
}

func (c *cutter) spectrum(f *stretchFeed) *Spectrum {
	rate := f.src.Rate()
	window := c.pool.window
	squares, sum := 0.0, 0.0
	for _, w := range window {
		squares += w * w
		sum += w
	}
	s := &Spectrum{RateHz: rate, Segment: c.n, Window: c.o.Window, ENBWHz: rate * squares / (sum * sum),
		Density: c.pool.sum(), Segments: c.count, Effective: effective(window, c.hop, c.count), MeanKept: c.o.KeepMean}
	for k := range s.Density {
		scale := 2 / (rate * squares * float64(c.count))
		if k == 0 || 2*k == c.n {
			scale /= 2
		}
		s.Density[k] *= scale
	}
	if f.left > 0 {
		s.Left = append(s.Left, leftOut("gaps", f.left, rate))
	}
	if c.tails > 0 && len(c.o.Gaps) > 0 {
		s.Left = append(s.Left, leftOut("ends of stretches that fill no segment", c.tails, rate))
	}
	return s
}

func leftOut(what string, frames int64, rate float64) string {
	return fmt.Sprintf("%s: %.3g s", what, float64(frames)/rate)
}

// transformers are the lanes: each windows, transforms and sums its segments in
// their order.
type transformers struct {
	window []float64
	keep   bool
	lanes  []*lane
	free   chan []float64
	wait   sync.WaitGroup
	n      int
	once   sync.Once
}

type lane struct {
	work  chan []float64
	fft   *realFFT
	power []float64
}

func newTransformers(n int, o SpectrumOptions) *transformers {
	t := &transformers{n: n, window: o.Window.Coefficients(n), keep: o.KeepMean, free: make(chan []float64, lanes+2)}
	for range cap(t.free) {
		t.free <- nil // made when first needed: short sources need few
	}
	return t
}

// buffer is a free segment of n samples.
func (t *transformers) buffer() []float64 {
	if b := <-t.free; b != nil {
		return b
	}
	return make([]float64, t.n)
}

// do hands segment i over.
func (t *transformers) do(i int, x []float64) {
	if i < lanes {
		l := &lane{work: make(chan []float64, 1), fft: newRealFFT(t.n), power: make([]float64, t.n/2+1)}
		t.lanes = append(t.lanes, l)
		t.wait.Go(func() { t.run(l) })
	}
	t.lanes[i%lanes].work <- x
}

func (t *transformers) run(l *lane) {
	for x := range l.work {
		mean := 0.0
		if !t.keep {
			mean = meanOf(x)
		}
		for i, w := range t.window {
			x[i] = (x[i] - mean) * w
		}
		l.fft.addPower(l.power, x)
		t.free <- x
	}
}

func (t *transformers) stop() {
	t.once.Do(func() {
		for _, l := range t.lanes {
			close(l.work)
		}
		t.wait.Wait()
	})
}

// sum ends the work and returns the sum of the squared magnitudes.
func (t *transformers) sum() []float64 {
	t.stop()
	out := make([]float64, t.n/2+1)
	for _, l := range t.lanes {
		for k, p := range l.power {
			out[k] += p
		}
	}
	return out
}

func meanOf(x []float64) float64 {
	var a, b, c, d float64
	i := 0
	for ; i+3 < len(x); i += 4 {
		a += x[i]
		b += x[i+1]
		c += x[i+2]
		d += x[i+3]
	}
	for ; i < len(x); i++ {
		a += x[i]
	}
	return (a + b + (c + d)) / float64(max(1, len(x)))
}
