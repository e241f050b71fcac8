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

// tickShape is what a second looks like, about its mean, where it stands out.
type tickShape struct {
	rate   float64 // envelope values a nominal second
	period float64 // in envelope values
	at     float64 // of the shape's start in the record
	shape  []float64
	limit  float64 // a louder value is a crash, and cut down to it
}

// learnTick folds the record at all periods near a second and takes the one
// that stands out most.
func learnTick(env []float64, rate, mostPPM float64) (*tickShape, error) {
	seconds := int(float64(len(env)) / rate)
	if seconds < 8 {
		return nil, fmt.Errorf("signal: found %d s of sound, expected a minute or more to look for second ticks in", seconds)
	}
	if mostPPM <= 0 {
		mostPPM = 500
	}
	limit := 30 * medianOf(slices.Clone(env))
	cut := make([]float64, len(env))
	for i, v := range env {
		cut[i] = math.Min(v, limit)
	}
	n := int(math.Round(rate))
	step := 1e6 / rate / float64(seconds) // one value of slip over the record
	best, bestPPM, top := []float64(nil), 0.0, 0.0
	for ppm := -math.Ceil(mostPPM/step) * step; ppm <= mostPPM+step; ppm += step {
		fold := foldAt(cut, rate*(1+ppm*1e-6), n)
		if c := contrast(fold); c > top {
			best, bestPPM, top = fold, ppm, c
		}
	}
	if top < tickStandsOut {
		return nil, fmt.Errorf("signal: no ticks that come every second stand out of the sound (%.1f times the scatter, expected %.0f at least)", top, tickStandsOut)
	}
	return newTickShape(best, rate, rate*(1+bestPPM*1e-6), limit), nil
}

// foldAt averages a record over a period into n bins.
func foldAt(x []float64, period float64, n int) []float64 {
	sum, count := make([]float64, n), make([]float64, n)
	scale := float64(n) / period
	for k := 0; ; k++ {
		start := float64(k) * period
		if int(start+period) >= len(x) {
			break
		}
		for i := range n {
			v := x[int(start+float64(i)/scale)]
			sum[i] += v
			count[i]++
		}
	}
	floats.Div(sum, count)
	return sum
}

// contrast is how far the top of a fold stands above its median, by the median
// distance from it.
func contrast(fold []float64) float64 {
	smooth := make([]float64, len(fold)) // over 2 ms
	for i := range fold {
		for k := range 4 {
			smooth[i] += fold[(i+k)%len(fold)] / 4
		}
	}
	median := medianOf(slices.Clone(smooth))
	off := make([]float64, len(smooth))
	top := 0.0
	for i, v := range smooth {
		off[i] = math.Abs(v - median)
		top = math.Max(top, v-median)
	}
	scatter := 1.4826 * medianOf(off)
	if scatter <= 1e-12*median || scatter == 0 {
		return 0
	}
	return top / scatter
}

// newTickShape keeps the 60 ms round the top of a fold.
func newTickShape(fold []float64, rate, period, limit float64) *tickShape {
	top := floats.MaxIdx(fold)
	half := int(0.03 * rate)
	s := &tickShape{rate: rate, period: period, at: float64(top - half), limit: limit}
	median := medianOf(slices.Clone(fold))
	for i := -half; i <= half; i++ {
		v := fold[((top+i)%len(fold)+len(fold))%len(fold)] - median
		s.shape = append(s.shape, math.Max(0, v-0.1*(fold[top]-median)))
	}
	return s
}

// follow finds the tick of each second, second after second, and mends the
// period on the way.
func (s *tickShape) follow(ctx context.Context, env *tickEnvelope, buf []float64, frames int64, progress func(float64)) (times [][2]float64, missed int, err error) {
	base := 0.0 // number of buf[0] in the record
	reach := int(tickReachS * s.rate)
	guess := s.at
	for s.at < float64(reach)+1 {
		s.at += s.period
	}
	guess = s.at
	for second := 0.0; ; second++ {
		need := int(guess-base) + len(s.shape) + reach + 2
		if need > len(buf) {
			more, err := env.take(ctx, need-len(buf)+8*tickValues)
			if err != nil {
				return nil, 0, err
			}
			buf = append(buf, more...)
			if need > len(buf) {
				return times, missed, nil
			}
		}
		if at, ok := s.find(buf, guess-base, reach); ok {
			times = append(times, [2]float64{second, (base + at) / s.rate})
		} else {
			missed++
		}
		guess = s.next(times, second+1)
		if drop := min(int(guess-base)-len(s.shape)-2*reach, len(buf)); drop > 4*tickValues {
			buf = buf[:copy(buf, buf[drop:])]
			base += float64(drop)
		}
		if progress != nil && frames > 0 {
			progress(math.Min(1, base*float64(env.every)/float64(frames)))
		}
	}
}

// next is where the tick of a second is expected: on the line of those found
// so far, on the fold's own period while they are few.
func (s *tickShape) next(times [][2]float64, second float64) float64 {
	if len(times) < 8 {
		return s.at + second*s.period
	}
	at, slope := lineOf(times[max(0, len(times)-300):])
	return (at + slope*second) * s.rate
}

// find looks for the shape near a place by correlation.
func (s *tickShape) find(buf []float64, near float64, reach int) (at float64, ok bool) {
	first := int(math.Round(near)) - reach
	if first < 0 {
		return 0, false
	}
	part := slices.Clone(buf[first : first+2*reach+len(s.shape)])
	floor := medianOf(slices.Clone(part))
	for i, v := range part {
		part[i] = math.Min(v, s.limit) - floor
	}
	r := make([]float64, 2*reach+1)
	for lag := range r {
		r[lag] = floats.Dot(s.shape, part[lag:lag+len(s.shape)])
	}
	k := floats.MaxIdx(r)
	if k == 0 || k == len(r)-1 || r[k] < 0.25*floats.Dot(s.shape, s.shape) {
		return 0, false
	}
	return float64(first+k) + vertex(r[k-1], r[k], r[k+1]), true
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
