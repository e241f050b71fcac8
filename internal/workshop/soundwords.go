package workshop

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
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
	add := func(of string, texts ...string) {
		for _, text := range texts {
			told := slices.ContainsFunc(a.Warnings, func(w string) bool { return strings.HasSuffix(w, text) })
			if !told {
				a.Warnings = append(a.Warnings, of+text)
			}
		}
	}
	for _, rec := range raw.Recordings {
		of := ""
		if len(raw.Recordings) > 1 {
			of = rec.Name + ": "
		}
		add(of, RecordingWarnings(rec.Recording)...)
		add("", raw.SoundScale(rec.Started).Warnings()...)
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

// CalibrationWords says how a sound input is calibrated, a line each; nothing
// for other instruments.
func CalibrationWords(in run.Instrument, now time.Time) []string {
	if in.Reads != run.ReadsSound {
		return nil
	}
	if in.Sound == nil {
		return []string{"not calibrated"}
	}
	c := *in.Sound
	var out []string
	of := func(x, u float64) quantity.Value {
		return quantity.New(x, quantity.Contribution{Source: quantity.Source{ID: "u"}, C: u})
	}
	if c.FullScaleV > 0 {
		out = append(out, "full scale is a sine of "+printer.Format(of(c.FullScaleV, c.FullScaleV*c.FullScaleRelativeU), "V"))
	}
	if c.RateErrorU > 0 {
		out = append(out, "sample rate off by "+printer.Format(of(1e6*c.RateError, 1e6*c.RateErrorU), "ppm"))
	}
	if c.FloorDensity > 0 {
		out = append(out, "own noise "+printer.Told(10*math.Log10(2*c.FloorDensity*3000), "dBFS", 3)+" in 3 kHz")
	}
	if c.OwnDistortion > 0 {
		out = append(out, "own distortion "+printer.Told(100*c.OwnDistortion, "%", 2))
	}
	if !c.Expires.IsZero() {
		word := "good until "
		if c.Expired(now) {
			word = "ran out on "
		}
		out = append(out, word+c.Expires.Format("2 January 2006"))
	}
	return out
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
		text += ", " + name + " " + minusSign.ReplaceAllString(rec.Labels[name], "−$1")
	}
	return text
}

// minusSign is a hyphen that stands for a minus.
var minusSign = regexp.MustCompile(`-(\d)`)

// RecordingForm says the form of a recording in words: length, channels and
// sample rate.
func RecordingForm(rec run.Recording) string {
	channels := "one channel"
	if rec.Channels > 1 {
		channels = fmt.Sprintf("%d channels", rec.Channels)
	}
	return fmt.Sprintf("%s, %s, %s", printer.Elapsed(float64(rec.Frames)/rec.RateHz), channels, printer.Told(rec.RateHz, "Hz", 6))
}
