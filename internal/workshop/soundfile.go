package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/recording"
	"setwright/signal"
)

// SoundFile is a recording given by a user: the file, what it is a recording
// of and what is written on it.
type SoundFile struct {
	intake.Source
	Role    string            // the measurement's kind of recording; empty is its first
	Channel int               // from 0, [signal.Mean] for the mean of all
	Labels  map[string]string // what was set while it was made
}

// ParseChannel reads a channel as people name it: a number from 1, left, right,
// or mean for the mean of all. Empty is the first.
func ParseChannel(text string) (int, error) {
	switch strings.ToLower(text) {
	case "", "left":
		return 0, nil
	case "right":
		return 1, nil
	case "mean":
		return signal.Mean, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		return 0, fmt.Errorf("found the channel %q, expected a number from 1, left, right or mean", text)
	}
	return n - 1, nil
}

// sniffed is how much of a file tells what it is.
const sniffed = 4096

// soundEndings are those of files that are meant as recordings.
var soundEndings = []string{".wav", ".wave", ".bwf", ".rf64", ".w64", ".flac", ".mp3", ".ogg", ".oga", ".opus", ".aif", ".aiff", ".aifc", ".au", ".m4a"}

// IsRecording says whether a file is a recording, by its content; one that has
// the ending of a recording and is no text is meant as one, so that what is said
// about it is about a recording.
func IsRecording(src intake.Source) (bool, error) {
	f, err := src.Open()
	if err != nil {
		return false, err
	}
	defer f.Close()
	head := make([]byte, sniffed)
	n, err := io.ReadFull(f, head)
	if err != nil && err != io.ErrUnexpectedEOF && err != io.EOF {
		return false, fmt.Errorf("%s: %w", src.Name, err)
	}
	meant := slices.Contains(soundEndings, strings.ToLower(filepath.Ext(src.Name)))
	return recording.Sniff(head[:n]) || meant && (n == 0 || slices.Contains(head[:n], 0)), nil
}

// SoundPeek is what the header of a recording says.
type SoundPeek struct {
	Form     string // in words
	Channels int
}

// PeekSound reads the header of a recording.
func PeekSound(src intake.Source) (SoundPeek, error) {
	r, err := openSound(src)
	if err != nil {
		return SoundPeek{}, err
	}
	defer r.Close()
	info := r.Info()
	form := RecordingForm(run.Recording{RateHz: info.RateHz, Channels: info.Channels, Frames: max(info.Frames, 0)})
	return SoundPeek{Form: fmt.Sprintf("%s, %d bits, %s", info.Format, info.Bits, form), Channels: info.Channels}, nil
}

// takesRecordings finds the kind of recording that a file is given as.
func takesRecordings(about measure.About, f SoundFile) (measure.RecordingSpec, error) {
	spec, ok := about.RecordingOf(f.Role)
	name := filepath.Base(f.Name)
	switch {
	case ok:
		return spec, nil
	case len(about.Recordings) == 0:
		return spec, &intake.Problem{File: name, Found: "a recording", Expected: "a log of readings", Advice: about.Title + " takes no recordings"}
	}
	return spec, &measure.OptionError{Name: "as", Title: name,
		Text: fmt.Sprintf("found a recording given as %q, expected %s", f.Role, oneOf(about.RecordingRoles()))}
}

// checkLabels refuses labels that the measurement does not know or cannot read.
func checkLabels(spec measure.RecordingSpec, file string, labels map[string]string) error {
	for name, text := range labels {
		i := slices.IndexFunc(spec.Labels, func(o measure.OptionSpec) bool { return o.Name == name })
		if i < 0 {
			return noLabel(spec, file, name)
		}
		if err := spec.Labels[i].Check(text); err != nil {
			var wrong *measure.OptionError
			if errors.As(err, &wrong) {
				return &measure.OptionError{Name: name, Title: filepath.Base(file) + ", label " + name, Text: wrong.Text}
			}
			return err
		}
	}
	return nil
}

// noLabel refuses a label that recordings of that kind do not have.
func noLabel(spec measure.RecordingSpec, file, name string) error {
	var known []string
	for _, o := range spec.Labels {
		known = append(known, o.Name)
	}
	expected := oneOf(known)
	if len(known) == 0 {
		expected = "none: a recording of a " + spec.Title + " takes no labels"
	}
	return &measure.OptionError{Name: name, Title: filepath.Base(file), Text: fmt.Sprintf("found the label %q, expected %s", name, expected)}
}

// oneOf lists what is expected.
func oneOf(words []string) string {
	if len(words) == 1 {
		return words[0]
	}
	return "one of " + strings.Join(words, ", ")
}

// describe reads a recording to its end and says what it is: format, length,
// what the reader and the ear of the program found wrong with it.
func describe(ctx context.Context, spec measure.RecordingSpec, f SoundFile, progress func(float64)) (run.Recording, error) {
	rec := run.Recording{Role: spec.Role, Name: filepath.Base(f.Name), Channel: f.Channel, Labels: f.Labels}
	src, err := openSound(f.Source)
	if err != nil {
		return rec, err
	}
	defer src.Close()
	info := src.Info()
	rec.RateHz, rec.Channels, rec.Started = info.RateHz, info.Channels, info.Started
	if f.Channel >= info.Channels || f.Channel < signal.Mean {
		return rec, noChannel(rec.Name, f.Channel, info.Channels)
	}
	counted := &counter{Source: src}
	one, err := signal.Mono(counted, f.Channel)
	if err != nil {
		return rec, err
	}
	found, err := signal.Inspect(ctx, one, signal.InspectOptions{Frames: info.Frames}, progress)
	if err != nil {
		return rec, soundProblem(err)
	}
	rec.Frames = counted.frames
	for _, w := range src.Warnings() {
		rec.Warnings = append(rec.Warnings, w.String())
	}
	rec.Warnings = append(rec.Warnings, found.Notes...)
	rec.Capture = captureOf(found)
	return rec, nil
}

// noChannel refuses a channel that a recording does not have.
func noChannel(file string, asked, has int) error {
	p := &intake.Problem{File: file, Found: fmt.Sprintf("channel %d asked for", asked+1), Expected: fmt.Sprintf("1 to %d", has),
		Advice: fmt.Sprintf("the recording has %d channels: name one of them, or mean", has)}
	if has == 1 {
		p.Expected, p.Advice = "channel 1", "the recording has no other"
	}
	return p
}

// captureOf is the integrity record of a recording that came as a file.
func captureOf(found *signal.Defects) *run.Capture {
	gaps := found.Gaps()
	if len(gaps) == 0 {
		return nil
	}
	return &run.Capture{Path: pathFile, Gaps: gaps}
}

// counter counts the frames that pass.
type counter struct {
	signal.Source
	frames int64
}

func (c *counter) Read(dst []float64) (int, error) {
	n, err := c.Source.Read(dst)
	c.frames += int64(n)
	return n, err
}

// openSound opens a recording at its start.
func openSound(src intake.Source) (soundReader, error) {
	f, err := src.Open()
	if err != nil {
		return soundReader{}, err
	}
	var r *recording.Reader
	if at, ok := f.(io.ReaderAt); ok && src.Size >= 0 {
		r, err = recording.Open(filepath.Base(src.Name), at, src.Size)
	} else {
		r, err = recording.Stream(filepath.Base(src.Name), f)
	}
	if err != nil {
		f.Close()
		return soundReader{}, soundProblem(err)
	}
	return soundReader{r, f}, nil
}

// soundProblem says what is wrong with a recording as is said of a log.
func soundProblem(err error) error {
	var p *recording.Problem
	if !errors.As(err, &p) {
		return err
	}
	out := &intake.Problem{File: p.File, Found: p.Found, Expected: p.Expected, Advice: p.Do}
	if p.At >= 0 {
		out.Place = fmt.Sprintf("byte %d", p.At)
	}
	return out
}

// monoSound is one channel of an open recording.
type monoSound struct {
	signal.Source
	closer io.Closer
	skip   func(frames int64) error
}

func (m monoSound) Close() error            { return m.closer.Close() }
func (m monoSound) Skip(frames int64) error { return m.skip(frames) }

// seen makes a recording of a run one that an analysis can read.
func seen(rec run.Recording, open func(ctx context.Context) (intake.Source, error)) measure.Recording {
	return measure.Recording{Recording: rec, Open: func(ctx context.Context) (measure.SourceCloser, error) {
		src, err := open(ctx)
		if err != nil {
			return nil, err
		}
		r, err := openSound(src)
		if err != nil {
			return nil, err
		}
		one, err := signal.Mono(r, rec.Channel)
		if err != nil {
			r.Close()
			return nil, err
		}
		return monoSound{one, r, r.Skip}, nil
	}}
}

// stored is the source of a recording in the book.
func (s *Shop) stored(rec run.Recording) func(ctx context.Context) (intake.Source, error) {
	return func(ctx context.Context) (intake.Source, error) {
		path, size, err := s.Book.FilePath(ctx, rec.SHA256)
		if err != nil {
			return intake.Source{}, err
		}
		return intake.Source{Name: rec.Name, Size: size, Open: func() (io.ReadCloser, error) { return os.Open(path) }}, nil
	}
}

// recordingsOf are the recordings of a stored run as an analysis sees them.
func (s *Shop) recordingsOf(recs []run.Recording) []measure.Recording {
	var out []measure.Recording
	for _, rec := range recs {
		out = append(out, seen(rec, s.stored(rec)))
	}
	return out
}

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
		if ids[i], err = digestOf(f.Source); err != nil {
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
