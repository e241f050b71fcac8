package signal

import (
	"context"
	"fmt"
	"io"
	"math"
)

// feedBlock is how many frames are read at a time.
const feedBlock = 8192

// stretchFeed reads the whole stretches of a source of one channel: what lies in a gap
// is passed over, a number that is not finite is an error, a cancelled context
// ends it.
type stretchFeed struct {
	ctx       context.Context
	src       Source
	pos       int64 // frame the source stands at
	stretches []Stretch
	known     int64 // frames of the whole source, 0 where not known
	progress  func(float64)
	left      int64 // frames in gaps passed over
	skip      []float64
	started   bool // in the present stretch
	ended     bool
}

// newStretchFeed returns a feed of a source that must have one channel. Frames is its
// known length, 0 for unknown, and serves the progress only.
func newStretchFeed(ctx context.Context, src Source, gaps []Gap, frames int64, progress func(float64)) (*stretchFeed, error) {
	if err := needMono(src); err != nil {
		return nil, err
	}
	return &stretchFeed{ctx: ctx, src: src, stretches: Stretches(math.MaxInt64, gaps), known: frames, progress: progress}, nil
}

// needMono says whether a source can be worked on as one channel.
func needMono(src Source) error {
	if src == nil {
		return fmt.Errorf("signal: no source")
	}
	if c := src.Channels(); c != 1 {
		return fmt.Errorf("signal: the source has %d channels, expected 1: choose one, or the mean of all", c)
	}
	return needRate(src.Rate())
}

func needRate(rate float64) error {
	if !(rate > 0) || math.IsInf(rate, 0) {
		return fmt.Errorf("signal: sample rate %v Hz, expected a positive number", rate)
	}
	return nil
}

// read fills dst with samples of one stretch and returns how many, up to the
// end of the stretch or of what the source gives at once. Begins is true with
// the first samples of a stretch. The end is 0 and io.EOF.
func (f *stretchFeed) read(dst []float64) (n int, begins bool, err error) {
	if err := f.ctx.Err(); err != nil {
		return 0, false, err
	}
	for len(f.stretches) > 0 && f.pos >= f.stretches[0].To {
		f.stretches, f.started = f.stretches[1:], false
	}
	if f.ended || len(f.stretches) == 0 {
		return 0, false, io.EOF
	}
	s := f.stretches[0]
	if err := f.pass(s.From - f.pos); err != nil {
		return 0, false, f.end(err)
	}
	n, err = f.src.Read(dst[:min(int64(len(dst)), s.To-f.pos)])
	if err != nil {
		return 0, false, f.end(err)
	}
	if i := notFinite(dst[:n]); i >= 0 {
		return 0, false, fmt.Errorf("signal: frame %d is %v, expected a number", f.pos+int64(i), dst[i])
	}
	f.pos += int64(n)
	f.tell()
	begins, f.started = !f.started, true
	return n, begins, nil
}

// pass drops frames of a gap.
func (f *stretchFeed) pass(frames int64) error {
	for frames > 0 {
		if f.skip == nil {
			f.skip = make([]float64, feedBlock)
		}
		n, err := f.src.Read(f.skip[:min(int64(len(f.skip)), frames)])
		if err != nil {
			return err
		}
		frames -= int64(n)
		f.pos += int64(n)
		f.left += int64(n)
	}
	return nil
}

func (f *stretchFeed) end(err error) error {
	f.ended = err == io.EOF
	if f.ended && f.progress != nil {
		f.progress(1)
	}
	return err
}

func (f *stretchFeed) tell() {
	if f.progress != nil && f.known > 0 {
		f.progress(min(1, float64(f.pos)/float64(f.known)))
	}
}

// notFinite is the index of the first infinity or not-a-number, or -1.
func notFinite(x []float64) int {
	// x-x is 0 for a number and not a number otherwise; two sums that do not
	// wait for each other.
	var a, b float64
	i := 0
	for ; i+1 < len(x); i += 2 {
		a += x[i] - x[i]
		b += x[i+1] - x[i+1]
	}
	if i < len(x) {
		a += x[i] - x[i]
	}
	if a+b == 0 {
		return -1
	}
	for i, v := range x {
		if v-v != 0 {
			return i
		}
	}
	return -1
}
