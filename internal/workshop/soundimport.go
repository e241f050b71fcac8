package workshop

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/signal"
)

// AnalyseSound analyses recordings that make one run. Nothing is stored.
func (s *Shop) AnalyseSound(ctx context.Context, measurement string, files []SoundFile, options map[string]string, setup run.Setup, progress func(float64)) (FileAnalysis, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	out := FileAnalysis{File: nameOf(files)}
	m, err := s.Registry.Get(measurement)
	if err != nil {
		return out, err
	}
	out.About = m.About()
	if err := s.checkOptions(measurement, options); err != nil {
		return out, err
	}
	raw := measure.Raw{Options: options, Setup: setup}
	ids := make([]string, len(files))
	for i, f := range files {
		spec, err := takesRecordings(out.About, f)
		if err != nil {
			return out, err
		}
		if err := checkLabels(spec, f.Name, f.Labels); err != nil {
			return out, err
		}
		unchanged, err := f.Watch()
		if err != nil {
			return out, err
		}
		rec, err := describe(ctx, spec, f, func(x float64) { progress(0.3 * (float64(i) + x) / float64(len(files))) })
		if changed := unchanged(); changed != nil && ctx.Err() == nil {
			return out, changed
		}
		if err != nil {
			return out, err
		}
		if ids[i], err = digestOf(ctx, f.Source); err != nil {
			return out, err
		}
		raw.Recordings = append(raw.Recordings, seen(rec, func(context.Context) (intake.Source, error) { return f.Source, nil }))
		out.Recordings = append(out.Recordings, rec)
	}
	raw.RunID = "file-" + strings.Join(ids, "-")
	if len(files) == 1 {
		raw.Notes = secondChannel(raw.Recordings[0].Recording)
	}
	out.Analysis, err = s.analyse(ctx, m, raw, func(x float64) { progress(0.3 + 0.7*x) })
	return out, placed(err, out.File, nil)
}

// secondChannel says which of several channels was looked at.
func secondChannel(rec run.Recording) []string {
	if rec.Channels == 1 || rec.Channel == signal.Mean {
		return nil
	}
	return []string{fmt.Sprintf("%s has %d channels; channel %d was analysed", rec.Name, rec.Channels, rec.Channel+1)}
}

func nameOf(files []SoundFile) string {
	var names []string
	for _, f := range files {
		names = append(names, f.Name)
	}
	return strings.Join(names, ", ")
}

// ImportSound stores recordings as one run of a state: the files byte for byte,
// and what they are. Either all of it is stored or nothing.
func (s *Shop) ImportSound(ctx context.Context, n NewRun, files []SoundFile, progress func(float64)) (run.Run, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	m, r, err := s.newRun(ctx, n)
	if err != nil {
		return run.Run{}, err
	}
	r.Origin = run.Origin{How: "file", Name: nameOf(files)}
	copies := make([]keptSound, len(files))
	for i, f := range files {
		spec, err := takesRecordings(m.About(), f)
		if err != nil {
			return run.Run{}, err
		}
		if err := checkLabels(spec, f.Name, f.Labels); err != nil {
			return run.Run{}, err
		}
		copied, err := s.takeIn(ctx, f.Source)
		if err != nil {
			return run.Run{}, err
		}
		defer copied.Discard()
		given := f
		given.Source = intake.Source{Name: f.Name, Size: copied.Size, Open: func() (io.ReadCloser, error) { return copied.Open() }}
		rec, err := describe(ctx, spec, given, func(x float64) { progress((float64(i) + x) / float64(len(files))) })
		if err != nil {
			return run.Run{}, err
		}
		rec.SHA256 = copied.SHA256
		copies[i] = keptSound{copied, rec.Name}
		r.Recordings = append(r.Recordings, rec)
		r.Started = earliest(r.Started, rec.Started)
	}
	if r.Setup.Day == "" && !r.Started.IsZero() {
		r.Setup.Day = r.Started.Format("2006-01-02")
	}
	if r.ID, err = s.freeRunID(ctx, r); err != nil {
		return run.Run{}, err
	}
	return r, s.storeSound(ctx, r, copies)
}

// earliest returns the first known of what was said and what a file says.
func earliest(said, file time.Time) time.Time {
	if said.IsZero() {
		return file
	}
	return said
}
