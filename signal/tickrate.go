package signal

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// TickOptions say how second ticks are looked for. The zero value will do.
type TickOptions struct {
	Band    [2]float64 // Hz, where the ticks have their power; 0, 0: 800 to 2400 Hz
	MostPPM float64    // largest error of the sample rate looked for; 0: 500 parts in a million
	Gaps    []Gap      // the longest stretch between them is used
	Frames  int64      // length, needed with gaps; 0 if not known
}

// TickRate is a sample rate by the second ticks of a standard-frequency and time
// broadcast.
type TickRate struct {
	RateError, RateErrorU float64 // true sample rate over the nominal one, less 1
	Ticks                 int     // used
	Missed                int     // seconds without one
	SpanS                 float64 // from the first to the last
	JitterS               float64 // rms of one tick about the line
}

// The envelope's rate, the fold and what is asked of it.
const (
	tickValues    = 2000 // a second
	tickLearnS    = 64   // seconds that the shape is learnt from
	tickLeast     = 20   // ticks
	tickStandsOut = 9.0  // of the fold's top over its scatter
	tickReachS    = 0.015
)

// MeasureTickRate finds the error of a recording's sample rate by ticks that come
// every second exactly: the envelope is folded at all periods near a second; the
// shape that stands out is looked for in each second, and the line through the
// times found gives the period. The uncertainty is that of the slope by the
// scatter of the ticks, widened where they wander together, as paths through the
// ionosphere make them do. A recording without ticks gives an error.
func MeasureTickRate(ctx context.Context, src Source, o TickOptions, progress func(float64)) (TickRate, error) {
	env, err := newTickEnvelope(src, o)
	if err != nil {
		return TickRate{}, err
	}
	learnt, err := env.take(ctx, tickLearnS*tickValues)
	if err != nil {
		return TickRate{}, err
	}
	shape, err := learnTick(learnt, env.rate, o.MostPPM)
	if err != nil {
		return TickRate{}, err
	}
	times, missed, err := shape.follow(ctx, env, learnt, o.Frames, progress)
	if err != nil {
		return TickRate{}, err
	}
	if len(times) < tickLeast {
		return TickRate{}, fmt.Errorf("signal: found %d ticks, expected %d at least: record a minute or more", len(times), tickLeast)
	}
	return tickLine(times, missed), nil
}

// tickEnvelope is the power in the ticks' band, averaged to about 2000 values a
// second; every is a whole number of frames.
type tickEnvelope struct {
	src    Source
	filter *Filter
	every  int
	rate   float64 // values a nominal second
	block  []float64
}

func newTickEnvelope(src Source, o TickOptions) (*tickEnvelope, error) {
	if src.Channels() != 1 {
		return nil, fmt.Errorf("signal: found %d channels, expected one: choose one with Mono", src.Channels())
	}
	if len(o.Gaps) > 0 {
		var longest Stretch
		for _, s := range Stretches(o.Frames, o.Gaps) {
			if s.To-s.From > longest.To-longest.From {
				longest = s
			}
		}
		part, err := Section(src, longest.From, longest.To)
		if err != nil {
			return nil, err
		}
		src = part
	}
	band := o.Band
	if band == [2]float64{} {
		band = [2]float64{800, 2400}
	}
	filter, err := BandPass(src.Rate(), band[0], band[1], 2)
	if err != nil {
		return nil, err
	}
	every := max(1, int(math.Round(src.Rate()/tickValues)))
	return &tickEnvelope{src: src, filter: filter, every: every, rate: src.Rate() / float64(every), block: make([]float64, every*1024)}, nil
}

// take returns the next n values, fewer at the end.
func (e *tickEnvelope) take(ctx context.Context, n int) ([]float64, error) {
	var out []float64
	for len(out) < n {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		want := min(1024, n-len(out)) * e.every
		got, err := readFull(e.src, e.block[:want])
		if err != nil {
			return nil, err
		}
		x := e.block[:got]
		e.filter.Process(x)
		for i := 0; i+e.every <= got; i += e.every {
			out = append(out, floats.Dot(x[i:i+e.every], x[i:i+e.every])/float64(e.every))
		}
		if got < want {
			return out, nil
		}
	}
	return out, nil
}

// lineOf is the straight line through points, by least squares.
func lineOf(p [][2]float64) (at0, slope float64) {
	var mx, my, xx, xy float64
	for _, q := range p {
		mx += q[0] / float64(len(p))
		my += q[1] / float64(len(p))
	}
	for _, q := range p {
		xx += (q[0] - mx) * (q[0] - mx)
		xy += (q[0] - mx) * (q[1] - my)
	}
	slope = xy / xx
	return my - slope*mx, slope
}

// tickLine fits the line through the ticks, without those farther off than four
// times the usual distance, which are something else.
func tickLine(times [][2]float64, missed int) TickRate {
	kept := times
	for range 3 {
		at, slope := lineOf(kept)
		off := make([]float64, len(kept))
		for i, q := range kept {
			off[i] = math.Abs(q[1] - at - slope*q[0])
		}
		limit := 4*1.4826*medianOf(slices.Clone(off)) + 1e-5
		var good [][2]float64
		for i, q := range kept {
			if off[i] <= limit {
				good = append(good, q)
			}
		}
		if len(good) == len(kept) || len(good) < tickLeast {
			break
		}
		kept = good
	}
	return tickResult(kept, missed+len(times)-len(kept))
}

// tickResult is the slope with its uncertainty.
func tickResult(p [][2]float64, missed int) TickRate {
	at, slope := lineOf(p)
	n := float64(len(p))
	var mean, sq, lag, xx float64
	for _, q := range p {
		mean += q[0] / n
	}
	before := 0.0
	for i, q := range p {
		r := q[1] - at - slope*q[0]
		sq += r * r
		if i > 0 {
			lag += r * before
		}
		before = r
		xx += (q[0] - mean) * (q[0] - mean)
	}
	// A first-order process of correlation rho widens a slope so.
	rho := math.Max(0, math.Min(0.99, lag/math.Max(sq, 1e-300)))
	u := math.Sqrt(sq / (n - 2) / xx * (1 + rho) / (1 - rho))
	return TickRate{RateError: slope - 1, RateErrorU: u, Ticks: len(p), Missed: missed,
		SpanS: p[len(p)-1][0] - p[0][0], JitterS: math.Sqrt(sq / (n - 2))}
}
