package signal

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// LevelTrackOptions says how a level is followed; the zero value follows the
// whole band second by second.
type LevelTrackOptions struct {
	StepS   float64    // distance of the windows, s; 0: 1 s
	WindowS float64    // length of a window, s; 0: one step
	Band    [2]float64 // Hz; 0, 0: all
	Gaps    []Gap
	Frames  int64 // length of the source if known, for the progress
}

// LevelTrack is a level over time.
type LevelTrack struct {
	StepS, WindowS float64
	TimeS          []float64 // middle of the window, from the start of the source
	Power          []float64 // mean power in the window, full-scale²
	U              []float64 // one standard uncertainty of Power, by the scatter inside the window
}

// between is the range of the points from one time to another.
func (t *LevelTrack) between(from, to float64) (first, end int) {
	first, _ = slices.BinarySearch(t.TimeS, from)
	end, found := slices.BinarySearch(t.TimeS, to)
	if found {
		end++
	}
	return first, max(first, end)
}

// Between is the part of a track from one time to another; it shares memory with
// the whole.
func (t *LevelTrack) Between(from, to float64) *LevelTrack {
	a, b := t.between(from, to)
	part := &LevelTrack{StepS: t.StepS, WindowS: t.WindowS, TimeS: t.TimeS[a:b], Power: t.Power[a:b]}
	if t.U != nil {
		part.U = t.U[a:b]
	}
	return part
}

const bandOrder = 4 // of the band-pass that a level is followed through

// TrackLevel is the mean power of a source of one channel in successive windows,
// heard through a Butterworth band-pass if a band is given. No window lies
// across a gap; a window at the end of a stretch that is not full is left out.
// Times are put right for the delay of the band-pass.
func TrackLevel(ctx context.Context, src Source, o LevelTrackOptions, progress func(float64)) (*LevelTrack, error) {
	f, err := newStretchFeed(ctx, src, o.Gaps, o.Frames, progress)
	if err != nil {
		return nil, err
	}
	t, err := newTracker(src.Rate(), o)
	if err != nil {
		return nil, err
	}
	t.reserve(o.Frames)
	buf := make([]float64, feedBlock)
	for {
		n, begins, err := f.read(buf)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if begins {
			t.begin(f.pos - int64(n))
		}
		t.add(buf[:n])
	}
	if len(t.out.TimeS) == 0 {
		return nil, fmt.Errorf("signal: no stretch without a gap is as long as a window of %g s", t.out.WindowS)
	}
	return t.out, nil
}

// tracker sums the power over parts of windows. Windows are whole numbers of
// parts, and so are the steps between them.
type tracker struct {
	rate          float64
	filter, fresh *Filter
	part          int     // samples of a part
	parts, step   int     // of a window and a step, in parts
	groups        int     // into which the parts of a window are put for their scatter
	widen         float64 // see studentFactor
	ring          []float64
	sum           float64
	n, count      int
	origin        int64   // frame at which the stretch begins
	settle        int64   // samples after the start of a stretch during which the filter rings
	delayS        float64 // of the filter in the middle of its band
	heard         int64
	out           *LevelTrack
}

func newTracker(rate float64, o LevelTrackOptions) (*tracker, error) {
	step, window := o.StepS, o.WindowS
	if step == 0 {
		step = 1
	}
	if window == 0 {
		window = step
	}
	if !(step*rate >= 1) || !(window >= step) || math.IsInf(window*rate, 0) || window*rate > math.MaxInt32 {
		return nil, fmt.Errorf("signal: windows of %g s every %g s at %g samples a second, expected a step of one sample at least and windows not shorter than it", window, step, rate)
	}
	t := &tracker{rate: rate, groups: windowGroups(window, rate, o.Band)}
	t.layOut(step, window)
	t.ring = make([]float64, t.parts)
	t.out = &LevelTrack{StepS: float64(t.step*t.part) / rate, WindowS: float64(t.parts*t.part) / rate}
	if o.Band != [2]float64{} {
		b, err := BandPass(rate, o.Band[0], o.Band[1], bandOrder)
		if err != nil {
			return nil, err
		}
		t.filter, t.fresh = b, b
		// The slowest poles of the band-pass fall to 1 % of power in this time.
		t.settle = int64(2 * rate / (o.Band[1] - o.Band[0]))
		t.delayS = b.delay(math.Sqrt(o.Band[0] * o.Band[1]))
	}
	return t, nil
}

// layOut divides window and step into parts: as many as the scatter needs, but
// a whole number in a step.
func (t *tracker) layOut(step, window float64) {
	perStep := max(1, math.Round(float64(t.groups)*step/window))
	samples := math.Round(step * t.rate)
	perStep = min(perStep, samples)
	// A step that is no multiple of the parts would drift from what was asked.
	for math.Mod(samples, perStep) != 0 {
		perStep--
	}
	t.part, t.step = int(samples/perStep), int(perStep)
	t.parts = max(t.step, int(math.Round(window*t.rate/float64(t.part))))
	t.groups = max(1, min(t.groups, t.parts))
	t.widen = studentFactor(t.groups)
}

// windowGroups is into how many groups a window is cut for the scatter: each
// long against the time in which noise of the band changes, which is some 1/B.
func windowGroups(window, rate float64, band [2]float64) int {
	width := band[1] - band[0]
	if width <= 0 {
		width = min(400, rate/2) // a narrow receiver; common practice, no source
	}
	return int(max(4, min(16, window*width/4)))
}

// reserveMost is for how many points at most room is made beforehand.
const reserveMost = 1 << 20

// reserve makes room for the points of so many samples: a slice that grows by
// itself has twice the room, and leaves as much behind.
func (t *tracker) reserve(frames int64) {
	n := min(reserveMost, frames/int64(t.part*t.step)+1)
	t.out.TimeS, t.out.Power, t.out.U = make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)
}

func (t *tracker) begin(frame int64) {
	t.origin, t.heard = frame, 0
	t.sum, t.n, t.count = 0, 0, 0
	if t.filter != nil {
		t.filter = t.fresh.Fresh()
	}
}

func (t *tracker) add(x []float64) {
	if t.filter != nil {
		t.filter.Process(x)
	}
	if t.heard < t.settle {
		k := min(int64(len(x)), t.settle-t.heard)
		t.heard += k
		t.origin += k
		x = x[k:]
	}
	for len(x) > 0 {
		k := min(len(x), t.part-t.n)
		t.sum += sumSquares(x[:k])
		x, t.n = x[k:], t.n+k
		if t.n == t.part {
			t.full()
		}
	}
}

// full ends a part, and a window where one ends here.
func (t *tracker) full() {
	t.ring[t.count%t.parts] = t.sum
	t.sum, t.n = 0, 0
	t.count++
	if t.count < t.parts || (t.count-t.parts)%t.step != 0 {
		return
	}
	power, u := t.window()
	middle := float64(t.origin) + float64(t.count*t.part) - float64(t.parts*t.part)/2
	t.out.TimeS = append(t.out.TimeS, middle/t.rate-t.delayS)
	t.out.Power = append(t.out.Power, power)
	t.out.U = append(t.out.U, u)
}

// window is the mean power of the last parts, and its standard uncertainty from
// the differences of neighbouring groups of them, which a slow change of level
// does not reach (von Neumann 1941).
func (t *tracker) window() (power, u float64) {
	samples := float64(t.parts * t.part)
	squares, last, from := 0.0, 0.0, 0
	for g := range t.groups {
		to := (g + 1) * t.parts / t.groups
		sum := 0.0
		for i := from; i < to; i++ {
			sum += t.ring[(t.count-t.parts+i)%t.parts]
		}
		power += sum / samples
		mean := sum / float64((to-from)*t.part)
		if g > 0 {
			squares += (mean - last) * (mean - last)
		}
		last, from = mean, to
	}
	if t.groups < 2 {
		return power, power
	}
	n := float64(t.groups)
	return power, t.widen * math.Sqrt(squares/(2*(n-1))/n)
}

// studentFactor makes a standard deviation from the differences of n groups so
// much greater that twice it holds 95 %, as twice a well-known one does: the
// variance has 2(n−1)²/(3n−4) degrees of freedom (von Neumann 1941).
func studentFactor(n int) float64 {
	if n < 3 {
		return 1
	}
	k := float64(n)
	t := distuv.StudentsT{Sigma: 1, Nu: 2 * (k - 1) * (k - 1) / (3*k - 4)}
	return t.Quantile(0.975) / distuv.UnitNormal.Quantile(0.975)
}

func sumSquares(x []float64) float64 {
	var a, b, c, d float64
	i := 0
	for ; i+3 < len(x); i += 4 {
		a += x[i] * x[i]
		b += x[i+1] * x[i+1]
		c += x[i+2] * x[i+2]
		d += x[i+3] * x[i+3]
	}
	for ; i < len(x); i++ {
		a += x[i] * x[i]
	}
	return a + b + (c + d)
}
