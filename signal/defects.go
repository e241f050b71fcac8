package signal

import (
	"context"
	"fmt"
	"io"
	"math"
)

// Defects is what is wrong with a recording, or odd about it.
type Defects struct {
	Frames        int64
	Clipped       []Event // flat tops, at most 10,000 of them, those of one sign first
	ClippedFrames int64   // samples in flat tops, all of them
	ClipLevel     float64 // where the tops are cut, 1 is full scale
	Dropouts      []Gap   // zeros put in
	Repeats       []Gap   // blocks that came twice
	PhaseJumps    []Gap   // of a strong line, beside no fault of the other kinds
	Silences      []Gap   // true digital silence, which is no fault by itself
	MainsBeat     *Beat   // nil: none seen
	AutoGain      *AutoGain
	DCOffset      float64 // mean of the samples
	Silent        bool    // nothing but zeros and the last bit
	Peak          float64 // greatest size of a sample
	BitsUsed      int     // 32 where the samples are finer than that, as those of a converted file are
	Notes         []string
}

// Gaps returns the faults that break time or phase, in order of their place.
func (d *Defects) Gaps() []Gap {
	out := append(append(append([]Gap(nil), d.Dropouts...), d.Repeats...), d.PhaseJumps...)
	return sortGaps(out)
}

// InspectOptions say what is known; zero values are sensible.
type InspectOptions struct {
	LineHz float64 // line frequency, 0: it is estimated
	Frames int64   // length for the progress, 0: not known
}

// Inspect reads a source of one channel once, in constant memory, and says what
// is wrong with it. An empty source is an error.
func Inspect(ctx context.Context, src Source, o InspectOptions, progress func(float64)) (*Defects, error) {
	head, src, err := lineHead(ctx, src, headFrames(src.Rate()))
	if err != nil {
		return nil, err
	}
	if len(head) == 0 {
		return nil, fmt.Errorf("signal: the recording is empty")
	}
	in := newInspection(ctx, src.Rate(), head, o)
	buf := make([]float64, 16384)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := src.Read(buf)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		in.add(buf[:n])
		if progress != nil && o.Frames > 0 {
			progress(math.Min(1, float64(in.watch.frames)/float64(o.Frames)))
		}
	}
	if progress != nil {
		progress(1)
	}
	return in.result(), nil
}

// inspection is everything that looks at the samples.
type inspection struct {
	watch *Watcher
	clips *clipWatch
	gain  *modulation
	beat  *mainsBeat
}

func newInspection(ctx context.Context, rate float64, head []float64, o InspectOptions) *inspection {
	in := &inspection{watch: NewWatcher(rate), clips: newClipWatch(), gain: newModulation(rate)}
	if float64(len(head)) > 2*rate && lineFinite(head) {
		in.beat = newMainsBeat(ctx, rate, head, o.LineHz, &in.watch.phase)
	}
	return in
}

func (in *inspection) add(x []float64) {
	in.watch.Add(x)
	in.clips.add(x, in.watch.bits.step())
	// What follows sums: a number that is none would stay in the sums.
	if !lineFinite(x) {
		x = append([]float64(nil), x...)
		for i, v := range x {
			if v-v != 0 {
				x[i] = 0
			}
		}
	}
	in.gain.add(x)
	if in.beat != nil {
		in.beat.add(x)
	}
}

func (in *inspection) result() *Defects {
	w := in.watch
	step := w.bits.step()
	w.zeros.finish(step)
	d := &Defects{Frames: w.frames, Dropouts: w.zeros.gaps, Repeats: w.repeats.gaps, Silences: w.Silences()}
	for _, g := range w.Gaps() {
		if g.Why == "phase jump" {
			d.PhaseJumps = append(d.PhaseJumps, g)
		}
	}
	d.Peak, d.BitsUsed = w.bits.peak, w.bits.bits()
	d.DCOffset = w.bits.dc / float64(max(1, w.frames-w.bits.bad))
	d.Silent = d.Peak <= min(step, lastBit) || d.stuck()
	in.clips.result(d)
	if !d.Silent {
		d.AutoGain = in.gain.autoGain()
		if in.beat != nil {
			d.MainsBeat = in.beat.result()
		}
	}
	d.notes(w)
	return d
}

// lastBit is the greatest last bit of any recording, one of 8 bits.
const lastBit = 1.0 / 128

// stuck says that every sample is the same: none is beyond the mean.
func (d *Defects) stuck() bool { return d.Peak-math.Abs(d.DCOffset) <= 1e-9*d.Peak }

// notes says in words what the numbers mean.
func (d *Defects) notes(w *Watcher) {
	say := func(format string, a ...any) { d.Notes = append(d.Notes, fmt.Sprintf(format, a...)) }
	if d.Silent {
		switch {
		case d.Frames == 1:
			say("the recording is a single sample")
		case d.stuck() && d.Peak > 0:
			say("the recording is silent: every sample is the same, %.3g %% of full scale", 100*d.DCOffset)
		default:
			say("the recording is silent: no sample is greater than the last bit")
		}
		return
	}
	if w.bits.bad > 0 {
		say("%d samples are not finite numbers", w.bits.bad)
	}
	if d.ClippedFrames > 0 {
		say("clipped: %d samples lie in flat tops at %.1f %% of full scale", d.ClippedFrames, 100*d.ClipLevel)
	}
	for _, k := range []struct {
		gaps []Gap
		what string
	}{{d.Dropouts, "runs of zeros put in"}, {d.Repeats, "blocks that came twice"}, {d.PhaseJumps, "jumps of phase of the strongest line"}} {
		if len(k.gaps) > 0 {
			say("%d %s, the first at %.3f s", len(k.gaps), k.what, float64(k.gaps[0].Frame)/w.rate)
		}
	}
	if n := len(d.Silences); n > 0 {
		say("%d stretches of true digital silence, the first at %.3f s", n, float64(d.Silences[0].Frame)/w.rate)
	}
	if d.AutoGain != nil && d.AutoGain.Found {
		say("%s", d.AutoGain.Text)
	}
	if d.MainsBeat != nil {
		say("%s", d.MainsBeat.Text)
	}
	if math.Abs(d.DCOffset) > 0.001 && math.Abs(d.DCOffset) > 0.02*d.Peak {
		say("the samples have a mean of %.2f %% of full scale", 100*d.DCOffset)
	}
	if d.BitsUsed > 0 && d.BitsUsed < 12 {
		say("only %d bits are used", d.BitsUsed)
	}
}
