package stability

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// MinReadings is the least number of readings from which [FromReadings] makes
// a record: with fewer, the interval round a deviation is wider than anything
// it could decide, and the type of noise cannot be told (Riley and Greenhall
// 2004 ask for about 30).
const MinReadings = 30

// ErrUneven is the cause when readings do not follow each other at an even pace.
var ErrUneven = errors.New("readings are not evenly spaced")

const (
	// devBeat is how far, as a fraction of the spacing, a reading may come
	// before or after its beat: common practice, no source. A deviation at tau0
	// is then wrong by no more than about that fraction, and by far less at
	// longer tau.
	devBeat = 0.3
	// devMostOff is the largest fraction of readings that may be off the beat
	// before the whole record is called uneven: common practice, no source.
	devMostOff = 0.1
	// devFollow is how much of each reading's lateness moves the beat, so that a
	// logger whose pace creeps is followed.
	devFollow = 0.2
)

// Evenly puts time stamps, in seconds and in ascending order, on an even grid.
// It returns the spacing tau0 and for every reading its place on the grid; a
// place that no reading has is a missing reading.
//
// The beat follows a pace that creeps slowly. Stamps up to 0.3 tau0 early or
// late are taken as on the beat; one further off starts a new stretch behind a
// gap of one place, because nobody knows what its neighbour measured. After a
// gap the beat starts anew at the reading that ends it.
//
// Refused, with [ErrUneven] and the reading concerned: fewer than two stamps, a
// stamp that is not finite or not later than the one before, and a record with
// more than a tenth of its readings off the beat.
func Evenly(timesS []float64) (tau0S float64, index []int, err error) {
	tau0S, err = adevPace(timesS)
	if err != nil {
		return 0, nil, err
	}
	index = make([]int, len(timesS))
	beat, off, firstOff := timesS[0], 0, 0
	for i := 1; i < len(timesS); i++ {
		late := (timesS[i] - beat - tau0S) / tau0S
		missing := int(math.Round(math.Min(late, 1e9)))
		rest := late - float64(missing)
		switch {
		case missing >= 1:
			beat = timesS[i]
		case missing < 0 || math.Abs(rest) > devBeat:
			if off == 0 {
				firstOff = i
			}
			off++
			missing, beat = 1, timesS[i]
		default:
			beat += tau0S * (1 + devFollow*rest)
		}
		index[i] = index[i-1] + 1 + missing
	}
	if float64(off) > devMostOff*float64(len(timesS)) {
		return 0, nil, fmt.Errorf("%w: %d of %d readings are more than %.0f %% of the usual spacing of %.6g s off the beat, first reading %d at %.6g s, %.6g s after the one before; give readings at one pace, or without their time stamps",
			ErrUneven, off, len(timesS), 100*devBeat, tau0S, firstOff+1, timesS[firstOff], timesS[firstOff]-timesS[firstOff-1])
	}
	return tau0S, index, nil
}

// adevPace is the usual spacing: the mean of those spacings that are not gaps.
// The median alone would be wrong where a clock prints whole seconds and the
// readings come every 2.5 s.
func adevPace(timesS []float64) (float64, error) {
	if len(timesS) < 2 {
		return 0, fmt.Errorf("%w: found %d time stamp(s), expected at least 2", ErrUneven, len(timesS))
	}
	steps := make([]float64, len(timesS)-1)
	for i := range steps {
		steps[i] = timesS[i+1] - timesS[i]
		if !(steps[i] > 0) || math.IsInf(steps[i], 0) {
			return 0, fmt.Errorf("%w: reading %d is at %v s, the one before at %v s; expected a later time", ErrUneven, i+2, timesS[i+1], timesS[i])
		}
	}
	slices.Sort(steps)
	median := steps[len(steps)/2]
	sum, n := 0.0, 0
	for _, s := range steps {
		if s > 0.4*median && s < 1.6*median {
			sum, n = sum+s, n+1
		}
	}
	return sum / float64(n), nil
}

// FromReadings makes a record from a log: times in seconds, each with the
// fractional frequency read there (NaN: struck out or missing), at an even
// pace but for gaps ([Evenly]). It is the door for what comes from a bench:
// fewer than [MinReadings] readings are refused.
//
// Because no difference reaches across a gap, the length of a gap makes no
// difference to any figure and is not kept.
func FromReadings(timesS, y []float64) (Phase, error) {
	if len(timesS) != len(y) {
		return Phase{}, fmt.Errorf("%w: %d times and %d readings; expected as many of one as of the other", ErrNoRecord, len(timesS), len(y))
	}
	present := 0
	for _, v := range y {
		if !math.IsNaN(v) {
			present++
		}
	}
	if present < MinReadings {
		return Phase{}, fmt.Errorf("%w: %d readings; Allan figures need at least %d evenly spaced ones", ErrNoRecord, present, MinReadings)
	}
	tau0S, index, err := Evenly(timesS)
	if err != nil {
		return Phase{}, err
	}
	grid := make([]float64, 0, len(y))
	for i, v := range y {
		if i > 0 && index[i] > index[i-1]+1 {
			grid = append(grid, math.NaN())
		}
		grid = append(grid, v)
	}
	return FromFrequency(grid, tau0S)
}
