package signal

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

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
	for s.at < float64(reach)+1 {
		s.at += s.period
	}
	guess := s.at
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
