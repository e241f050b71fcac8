package signal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
)

// Harmonic is one line of a tone or of hum. Power is in full-scale² (a sine of
// peak 1 has 0.5) with the noise under the line taken off, so that it may come
// out a little below 0 where there is no line.
type Harmonic struct {
	N             int // 1 is the fundamental
	Hz            float64
	Power, PowerU float64
	InBand        bool // measured, and inside the band looked at
}

// Hum is what a supply of alternating current leaves in a recording: lines at
// the line frequency and its multiples.
type Hum struct {
	LineHz, LineU float64    // estimated, 0 where no comb of lines stands out
	Harmonics     []Harmonic // 1 is the line frequency itself
	// Power is the sum over the harmonics in the band. Where Upper is true,
	// noise hides them: Power is then that of hum at most, with 95 % confidence.
	Power, PowerU float64
	Upper         bool
	// Blends name the harmonics that fall on a line of the tone and cannot be
	// told from it; they are counted there, not here.
	Blends []string

	raw float64 // the sum before it was made a bound
}

// HumOptions say where to look; zero values are sensible.
type HumOptions struct {
	FromHz, ToHz float64   // the line frequency lies between, 0: 40 and 70 Hz
	Harmonics    int       // how many are looked at, 0: 10
	Avoid        []float64 // frequencies of a tone and its harmonics in the recording
	LineHz       float64   // known line frequency, 0: it is estimated
	Gaps         []Gap
	Frames       int64 // length for the progress, 0: not known
}

func (o HumOptions) withDefaults() HumOptions {
	if o.FromHz <= 0 {
		o.FromHz = 40
	}
	if o.ToHz <= o.FromHz {
		o.ToHz = math.Max(70, o.FromHz+1)
	}
	if o.Harmonics <= 0 {
		o.Harmonics = 10
	}
	return o
}

// FindHum estimates the line frequency from its harmonics together and measures
// them. The source must have one channel; memory is constant. A recording
// shorter than 0.5 s is an error; the lines of one of 2 s or more are resolved.
func FindHum(ctx context.Context, src Source, o HumOptions, progress func(float64)) (*Hum, error) {
	o = o.withDefaults()
	head, src, err := lineHead(ctx, src, headFrames(src.Rate()))
	if err != nil {
		return nil, err
	}
	from, to := lineLongest(int64(len(head)), o.Gaps)
	x := head[from:to]
	if s := float64(len(x)) / src.Rate(); s < 0.5 {
		return nil, fmt.Errorf("signal: %.2f s without a gap is too short to look for hum: 0.5 s is needed, 2 s or more is better", s)
	}
	if !lineFinite(x) {
		return nil, errNotFinite
	}
	a := newLineAnalysis(src.Rate(), int64(len(x)), 0, 0, src.Rate()*0.45)
	a.avoid = o.Avoid
	a.startHum(ctx, x, o)
	if err := a.run(ctx, src, o.Gaps, o.Frames, progress); err != nil {
		return nil, err
	}
	return a.humResult(), nil
}

var errNotFinite = errors.New("signal: the recording holds samples that are not finite numbers")

// headFrames is how much of a recording is looked at before it is analysed:
// 16 s, but at most a million samples.
func headFrames(rate float64) int { return int(math.Max(64, math.Min(16*rate, 1<<20))) }

// startHum looks for the line frequency in the first part of a recording.
func (a *lineAnalysis) startHum(ctx context.Context, x []float64, o HumOptions) {
	a.humOptions = o
	if o.LineHz > 0 {
		a.hum = newHumTrack(o.LineHz, a.blockS(), o.Harmonics)
		return
	}
	p, df, k := averagePower(ctx, x, a.rate, combBlockS)
	if p == nil {
		return
	}
	if c := combSearch(p, df, k, o.FromHz, o.ToHz, o.Harmonics, a.avoid); c.found {
		a.hum = newHumTrack(combRefine(p, df, k, c.hz, o.Harmonics, a.avoid), a.blockS(), o.Harmonics)
	}
}

// humResult is the hum found, or a bound for that of any line frequency.
func (a *lineAnalysis) humResult() *Hum {
	averages := lineAverages(a.blocks, a.pairs)
	if a.hum != nil {
		return a.hum.result(a.noise.at, averages, a.toHz)
	}
	return a.humHidden(averages)
}

// humHidden bounds hum where no comb stands out: of all line frequencies, the
// one whose harmonics hold most above the noise, and 95 % of its spread on top.
func (a *lineAnalysis) humHidden(averages float64) *Hum {
	o := a.humOptions
	d := a.noise.density()
	most := &Hum{raw: math.Inf(-1)}
	for f := o.FromHz; f <= o.ToHz; f += a.noise.df / 4 {
		sum, variance := 0.0, 0.0
		for h := 1; h <= o.Harmonics; h++ {
			hz := f * float64(h)
			k := int(math.Round(hz / a.noise.df))
			if k < 1 || k >= len(d) || hz > a.toHz || near(hz, a.avoid, 4*a.noise.df) {
				continue
			}
			s := a.noise.at(hz)
			sum += (d[k] - s) * 1.5 * a.noise.df // a line in a Hann bin counts 1.5 bins
			v := 1.5 * s / a.blockS()
			variance += v * v / math.Max(1, averages*lineVariance)
		}
		if sum > most.raw {
			most = &Hum{raw: sum, PowerU: math.Sqrt(variance)}
		}
	}
	if math.IsInf(most.raw, -1) {
		most.raw = 0
	}
	most.bound()
	most.PowerU = 0
	return most
}

// run reads the whole source through the analysis.
func (a *lineAnalysis) run(ctx context.Context, src Source, gaps []Gap, frames int64, progress func(float64)) error {
	blocks := newLineBlocks(src, a.size, gaps)
	for {
		x, at, err := blocks.block(ctx)
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if !lineFinite(x) {
			return errNotFinite
		}
		a.block(x, at)
		if progress != nil && frames > 0 {
			progress(math.Min(1, float64(at)/float64(frames)))
		}
	}
	a.frames = blocks.next
	if a.blocks == 0 {
		return fmt.Errorf("signal: no stretch of %.2f s without a gap", a.blockS())
	}
	if progress != nil {
		progress(1)
	}
	return nil
}
