package signal

import "context"

// EnvelopeOptions say how an envelope is taken; zero values are sensible.
type EnvelopeOptions struct {
	WindowS float64    // width of the moving rms, 0: 0.01 s; at least a period of the tone
	StepS   float64    // distance of its points, 0: a fifth of the window
	Band    [2]float64 // Hz; 0, 0: all
	Gaps    []Gap
	Frames  int64 // length for the progress, 0: not known
}

// Envelope is the moving rms of a source of one channel, as a track of mean
// powers in overlapping windows (see [TrackLevel]): 5 points a window unless
// said otherwise. A minute at the usual step makes 30,000 points.
func Envelope(ctx context.Context, src Source, o EnvelopeOptions, progress func(float64)) (*LevelTrack, error) {
	if o.WindowS <= 0 {
		o.WindowS = 0.01
	}
	if o.StepS <= 0 {
		o.StepS = o.WindowS / 5
	}
	t := LevelTrackOptions{WindowS: o.WindowS, StepS: o.StepS, Band: o.Band, Gaps: o.Gaps, Frames: o.Frames}
	return TrackLevel(ctx, src, t, progress)
}
