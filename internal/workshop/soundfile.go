package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

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
	defer spareMemory()()
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
