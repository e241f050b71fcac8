package signal

import (
	"context"
	"fmt"
	"math"
)

// TrackOptions say how a tone is followed. The zero value will do.
type TrackOptions struct {
	FromHz, ToHz float64 // where the tone is looked for; 0: 25 Hz, 0.45 of the sample rate; 20 Hz at least
	StartHz      float64 // about where it begins; 0: the strongest tone
	StepS        float64 // seconds a point, 0.2 to 60; 0: 1 s
	Gaps         []Gap   // known gaps; runs of zeros are found besides
	Frames       int64   // length for the progress, 0 if not known
}

// TrackPoint is one step of a track.
type TrackPoint struct {
	TimeS        float64 // middle, seconds from the first sample, time known to be lost in gaps counted
	Frame        int64   // middle, frame of the source
	Hz, U        float64 // mean over the step and its standard uncertainty
	SlopeHzS     float64 // slide within the step, Hz/s
	Amplitude    float64 // peak; rms over the step where it fades
	AmplitudeU   float64
	SNRdB        float64 // power of the tone over that of all else in the whole band
	NoiseDensity float64 // one-sided, full-scale²/Hz, beside the tone
	Lost         bool
	Why          string  // why it is lost
	Run          int     // number of the unbroken run of phase, from 0; -1 where lost
	Cycles       float64 // phase in cycles at the middle, counted within the run
	CyclesU      float64
	ZeroBeat     bool // lost for being too near zero to be told from its own image
}

// ZeroBeat is a stretch in which the tone was below the lowest frequency that
// can be measured. Whether it went through zero and came out on the other side,
// or turned round, cannot be heard: it follows from the slope before and after
// where that is steady.
type ZeroBeat struct {
	FromS, ToS float64
	Followed   bool // through zero: what comes after has the other sign
	Turned     bool // turned round: what comes after has the same sign
	Why        string
}

// Track is a tone followed through a recording.
type Track struct {
	StepS     float64
	Points    []TrackPoint
	ZeroBeats []ZeroBeat
	// Signed says that frequencies below zero stand for the other side of zero
	// beat. The sign of the first point is taken for positive.
	Signed bool
	// UnsignedFromS is the time from which the sign is not known, +Inf for never.
	UnsignedFromS float64
	Gaps          []Gap // those given and those found
	Notes         []string
}

// TrackTone follows a tone through a recording: for each step the frequency by
// the phase of the samples, its uncertainty from the noise beside the tone, and
// the phase counted on as long as it is unbroken.
//
// The recording is mixed down to the tone and thinned before anything is
// fitted; in each step amplitude, phase, frequency and slide are fitted by
// maximum likelihood together with other lines near. In white noise the
// frequency's scatter is that of the Cramér-Rao bound, u² = 12 N1/((2π)² A² T³) with
// N1 the one-sided density and T the step.
//
// A tone that does not stand out of the noise is lost at that point and never
// guessed. No phase is carried over a gap, a lost point or a jump.
func TrackTone(ctx context.Context, src Source, o TrackOptions, progress func(float64)) (*Track, error) {
	o, err := o.filled(src)
	if err != nil {
		return nil, err
	}
	t := newToneTracker(src, o)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		more, err := t.next()
		if err != nil {
			return nil, fmt.Errorf("signal: following a tone: %w", err)
		}
		if !more {
			break
		}
		if progress != nil && o.Frames > 0 {
			progress(math.Min(1, float64(t.feed.frame)/float64(o.Frames)))
		}
	}
	return t.track(), nil
}

// filled puts in the defaults and checks.
func (o TrackOptions) filled(src Source) (TrackOptions, error) {
	rate := src.Rate()
	if src.Channels() != 1 {
		return o, fmt.Errorf("signal: found %d channels, expected one: choose one with Mono", src.Channels())
	}
	if !(rate >= 1000 && rate <= 1e7) {
		return o, fmt.Errorf("signal: found %g samples a second, expected 1000 to 10 million", rate)
	}
	if o.FromHz == 0 {
		o.FromHz = 25
	}
	if o.ToHz == 0 {
		o.ToHz = 0.45 * rate
	}
	if o.StepS == 0 {
		o.StepS = 1
	}
	if !(o.FromHz >= 20 && o.ToHz > o.FromHz && o.ToHz <= rate/2) {
		return o, fmt.Errorf("signal: found a band of %g to %g Hz, expected one from 20 Hz at least to half the sample rate at most", o.FromHz, o.ToHz)
	}
	if !(o.StepS >= 0.2 && o.StepS <= 60) {
		return o, fmt.Errorf("signal: found a step of %g s, expected 0.2 to 60 s", o.StepS)
	}
	return o, nil
}
