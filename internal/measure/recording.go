package measure

import (
	"context"

	"setwright/internal/run"
	"setwright/signal"
)

// RecordingSpec is one kind of recording that a measurement takes, in the place
// of readings or beside them.
type RecordingSpec struct {
	Role  string // "beat", "audio"
	Title string // "beat note"
	Help  string // what to record, and how
	// Many says that a run has several: each is told apart by its labels, and
	// files given together make one run. Else every file is a run.
	Many bool
	// Labels are what is written on each recording: what was set meanwhile.
	Labels []OptionSpec
}

// RecordingOf returns the kind of recording of a role; where none is named, the
// first that the measurement takes.
func (a About) RecordingOf(role string) (RecordingSpec, bool) {
	for _, spec := range a.Recordings {
		if role == "" || role == spec.Role {
			return spec, true
		}
	}
	return RecordingSpec{}, false
}

// RecordingRoles names the kinds of recordings that the measurement takes.
func (a About) RecordingRoles() []string {
	var roles []string
	for _, spec := range a.Recordings {
		roles = append(roles, spec.Role)
	}
	return roles
}

// Recording is a recording as an analysis sees it: it can be read from its
// start any number of times, one channel, as a stream.
type Recording struct {
	run.Recording
	// Open reads the recording anew, the channel that is analysed. What it
	// returns reads from disk; whoever opens it closes it.
	Open func(ctx context.Context) (SourceCloser, error)
}

// SourceCloser is a source of sound that must be closed after use.
type SourceCloser interface {
	signal.Source
	Close() error
}

// DurationS is the length in seconds by the nominal rate.
func (r Recording) DurationS() float64 { return float64(r.Frames) / r.RateHz }

// Gaps returns the known gaps.
func (r Recording) Gaps() []signal.Gap {
	if r.Capture == nil {
		return nil
	}
	return r.Capture.Gaps
}

// Stretches returns the parts that no known gap breaks.
func (r Recording) Stretches() []signal.Stretch { return signal.Stretches(r.Frames, r.Gaps()) }

// Label returns the text of a label or its default.
func (r Recording) Label(spec RecordingSpec, name string) string {
	if v := r.Labels[name]; v != "" {
		return v
	}
	for _, l := range spec.Labels {
		if l.Name == name {
			return l.Default
		}
	}
	return ""
}

// OfRole returns the recordings of one role, in order.
func (r Raw) OfRole(role string) []Recording {
	var out []Recording
	for _, rec := range r.Recordings {
		if rec.Role == role {
			out = append(out, rec)
		}
	}
	return out
}

// Stretch is the part of a recording that a figure came from.
type Stretch struct {
	Recording  int // index in Raw.Recordings
	FromS, ToS float64
	Label      string   // "tone", "noise before the step"
	Figures    []string // figure ids that come from it
}
