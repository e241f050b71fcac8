package signal

import (
	"context"
	"fmt"
	"math"
)

// LoudnessOptions says how loudness is measured; the zero value takes channels
// in the usual order.
type LoudnessOptions struct {
	// Weights of the channels' powers; none: 1 for front channels, 1.41 for
	// surround channels, 0 for the low-frequency effects channel, with channels in
	// the order L, R, C, LFE, Ls, Rs (four: L, R, Ls, Rs; five: without LFE).
	Weights  []float64
	DualMono bool  // one channel that will be heard from two loudspeakers: 3.01 LU more
	TruePeak bool  // look between the samples too
	Frames   int64 // length of the source if known, for the progress
}

// Loudness is the loudness of a recording by ITU-R BS.1770 and EBU Tech 3341 and
// 3342. A figure whose flag is false does not exist: the recording is too short,
// or all of it below the absolute gate.
type Loudness struct {
	Integrated    float64 // LUFS: gated mean of blocks of 0.4 s
	HasIntegrated bool
	Range         float64 // LU; not stable where the recording is shorter than a minute
	HasRange      bool
	MaxMomentary  float64 // LUFS: greatest of windows of 0.4 s, every 10 ms
	HasMomentary  bool
	MaxShortTerm  float64 // LUFS: greatest of windows of 3 s, every 10 ms
	HasShortTerm  bool
	PeakDB        float64 // greatest absolute sample, dB relative to full scale
	TruePeakDB    float64 // dBTP: greatest absolute value of the waveform; −Inf if not asked for
	Frames        int64
}

const (
	partsInHop    = 10 // parts of 10 ms in the hop of the gating blocks
	hopsInBlock   = 8  // hops of 100 ms read at a time
	loudnessZero  = -0.691
	absoluteGate  = -70.0 // LUFS
	relativeGate  = -10.0 // LU
	rangeGate     = -20.0 // LU
	momentaryHops = 4
	shortTermHops = 30
)

// lufs is the loudness of a weighted mean square.
func lufs(power float64) float64 { return loudnessZero + 10*math.Log10(power) }

// lufsPower is the inverse of lufs.
func lufsPower(l float64) float64 { return math.Pow(10, (l-loudnessZero)/10) }

// MeasureLoudness measures the loudness of a source of one or more channels.
// Blocks overlap by 75 %; the last one that is not full is left out. The loudness
// of one channel is 3.01 LU below that of two with the same sound.
func MeasureLoudness(ctx context.Context, src Source, o LoudnessOptions, progress func(float64)) (Loudness, error) {
	w, err := newLoudnessWork(src, o)
	if err != nil {
		return Loudness{}, err
	}
	defer w.stop()
	for last := false; !last; {
		if err := ctx.Err(); err != nil {
			return Loudness{}, err
		}
		if last, err = w.next(); err != nil {
			return Loudness{}, err
		}
		if progress != nil && o.Frames > 0 {
			progress(min(1, float64(w.frames)/float64(o.Frames)))
		}
	}
	return w.loudness()
}

func channelWeights(channels int, o LoudnessOptions) ([]float64, error) {
	if len(o.Weights) == channels {
		return o.Weights, nil
	}
	if len(o.Weights) > 0 {
		return nil, fmt.Errorf("signal: %d channel weights for %d channels", len(o.Weights), channels)
	}
	const rear = 1.41
	switch {
	case channels == 1 && o.DualMono:
		return []float64{2}, nil
	case channels <= 3:
		return []float64{1, 1, 1}[:channels], nil
	case channels == 4:
		return []float64{1, 1, rear, rear}, nil
	case channels == 5:
		return []float64{1, 1, 1, rear, rear}, nil
	case channels == 6:
		return []float64{1, 1, 1, 0, rear, rear}, nil
	}
	return nil, fmt.Errorf("signal: loudness of %d channels, expected 1 to 6, or weights for each", channels)
}
