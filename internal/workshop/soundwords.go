package workshop

import (
	"fmt"
	"slices"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/signal"
)

// pathFile is the path of a recording that came as a file.
const pathFile = "file"

// gapsTold is how many gaps of a recording are told one by one.
const gapsTold = 3

// addSoundWarnings adds to an analysis what a reader must know of the
// recordings behind it: what was wrong with the files, where they have gaps,
// and whether the sound input was in calibration.
func addSoundWarnings(a *measure.Analysis, raw measure.Raw) {
	add := func(to *[]string, texts ...string) {
		for _, text := range texts {
			if !slices.Contains(*to, text) {
				*to = append(*to, text)
			}
		}
	}
	for _, rec := range raw.Recordings {
		for _, w := range RecordingWarnings(rec.Recording) {
			add(&a.Warnings, rec.Name+": "+w)
		}
		add(&a.Warnings, raw.SoundScale(rec.Started).Warnings()...)
	}
}

// RecordingWarnings says in words what is wrong with a recording: what the
// reader of the file met, settings that spoil it, and its gaps.
func RecordingWarnings(rec run.Recording) []string {
	out := slices.Clone(rec.Warnings)
	c := rec.Capture
	if c == nil {
		return out
	}
	for _, s := range []struct {
		on   *bool
		name string
	}{{c.Echo, "echo cancelling"}, {c.Noise, "noise suppression"}, {c.Gain, "automatic gain"}} {
		if s.on != nil && *s.on {
			out = append(out, s.name+" was on while this was recorded: levels and noise are not those of the set")
		}
	}
	if c.Cut {
		out = append(out, "the recording was cut short by a fault")
	}
	if len(c.Gaps) > 0 && c.Path != pathFile { // of a file they are among its warnings
		out = append(out, GapWords(c.Gaps, rec.RateHz))
	}
	return append(out, c.Notes...)
}

// GapWords tells the gaps of a recording: how many, and the first of them.
func GapWords(gaps []signal.Gap, rateHz float64) string {
	text := fmt.Sprintf("%d gaps", len(gaps))
	if len(gaps) == 1 {
		text = "one gap"
	}
	for i, g := range gaps {
		if i == gapsTold {
			return text + fmt.Sprintf("; and %d more", len(gaps)-gapsTold)
		}
		sep := "; "
		if i == 0 {
			sep = ": "
		}
		text += sep + fmt.Sprintf("%s at %s", g.Why, printer.Told(float64(g.Frame)/rateHz, "s", 5))
		if g.Frames > 0 {
			text += fmt.Sprintf(" (%s)", printer.Told(float64(g.Frames)/rateHz, "s", 3))
		}
		if g.LostS > 0 {
			text += fmt.Sprintf(" (%s lost)", printer.Told(g.LostS, "s", 3))
		}
	}
	return text
}

// RecordingTitle names a recording and what is written on it: "a.wav, input
// −73 dBm, signal on".
func RecordingTitle(rec run.Recording) string {
	text := rec.Name
	names := make([]string, 0, len(rec.Labels))
	for name := range rec.Labels {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		text += ", " + name + " " + rec.Labels[name]
	}
	return text
}

// RecordingForm says the form of a recording in words: length, channels and
// sample rate.
func RecordingForm(rec run.Recording) string {
	channels := "one channel"
	if rec.Channels > 1 {
		channels = fmt.Sprintf("%d channels", rec.Channels)
	}
	return fmt.Sprintf("%s, %s, %s", printer.Elapsed(float64(rec.Frames)/rec.RateHz), channels, printer.Told(rec.RateHz, "Hz", 6))
}
