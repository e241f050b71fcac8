package workshop

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/measure/soundinput"
	"setwright/internal/run"
	"setwright/quantity"
)

// SoundCalibration is what a user gives to calibrate a sound input: recordings
// of known things. What is nil is left as it was.
type SoundCalibration struct {
	Instrument string // id of the sound input; a new one is made from Name
	Name       string
	Epoch      string        // empty: the day
	ValidFor   time.Duration // how long it holds; zero: for ever
	Level      *SoundFile
	Volts      quantity.Value // rms of that tone
	Rate       *SoundFile
	Hz         quantity.Value // of that tone
	Ticks      bool           // it holds second ticks instead
	Quiet      *SoundFile
	Loop       *SoundFile
}

// CalibrateSound calibrates a sound input and stores it as a new epoch of the
// instrument. Runs made with it from then on carry its errors as named sources.
func (s *Shop) CalibrateSound(ctx context.Context, c SoundCalibration, progress func(float64)) (run.Instrument, soundinput.Result, error) {
	in, err := s.soundInput(ctx, c)
	if err != nil {
		return in, soundinput.Result{}, err
	}
	given, err := c.recordings(ctx)
	if err != nil {
		return in, soundinput.Result{}, err
	}
	var before run.Sound
	if in.Sound != nil {
		before = *in.Sound
	}
	made, err := soundinput.Calibrate(ctx, before, given, progress)
	if err != nil {
		return in, made, placed(err, "calibration", nil)
	}
	made.Sound.Made, made.Sound.Expires = s.Clock(), time.Time{}
	if c.ValidFor > 0 {
		made.Sound.Expires = made.Sound.Made.Add(c.ValidFor)
	}
	in.Sound = &made.Sound
	in.Epoch = cmp.Or(c.Epoch, s.Clock().Format("2006-01-02"))
	in, err = s.AddInstrument(ctx, in)
	return in, made, err
}

// soundInput finds the sound input on the bench, or describes a new one.
func (s *Shop) soundInput(ctx context.Context, c SoundCalibration) (run.Instrument, error) {
	if c.Instrument == "" && c.Name == "" {
		return run.Instrument{}, fmt.Errorf("calibrating a sound input: its name is missing")
	}
	if id := c.Instrument; id != "" {
		found, err := s.BenchInstruments(ctx, []string{id})
		switch {
		case err == nil && found[0].Reads != run.ReadsSound:
			return found[0], fmt.Errorf("%s reads %s: it is no sound input", found[0].Name, found[0].Reads)
		case err == nil:
			return found[0], nil
		case c.Name == "":
			return run.Instrument{}, err
		}
	}
	return run.Instrument{ID: cmp.Or(c.Instrument, Handle(c.Name)), Name: c.Name, Reads: run.ReadsSound}, nil
}

// recordings opens what was given.
func (c SoundCalibration) recordings(ctx context.Context) (soundinput.Given, error) {
	var g soundinput.Given
	open := func(f *SoundFile) (*measure.Recording, error) {
		if f == nil {
			return nil, nil
		}
		rec, err := describe(ctx, measure.RecordingSpec{Role: "calibration"}, *f, nil)
		if err != nil {
			return nil, err
		}
		out := seen(rec, func(context.Context) (intake.Source, error) { return f.Source, nil })
		return &out, nil
	}
	level, err := open(c.Level)
	if err != nil {
		return g, err
	}
	rate, err := open(c.Rate)
	if err != nil {
		return g, err
	}
	if g.Quiet, err = open(c.Quiet); err != nil {
		return g, err
	}
	if g.Loop, err = open(c.Loop); err != nil {
		return g, err
	}
	if level != nil {
		g.Level = &soundinput.Level{Recording: *level, Volts: c.Volts}
	}
	if rate != nil {
		g.Rate = &soundinput.Rate{Recording: *rate, Hz: c.Hz, Ticks: c.Ticks}
	}
	return g, nil
}

// ParseKnown reads the true value of what was recorded and its standard
// uncertainty, which may be a part of it or in its unit; a bare number is a
// part. what names it in an error.
func ParseKnown(what, text, uText, unit string) (quantity.Value, error) {
	if text == "" {
		return quantity.Value{}, fmt.Errorf("%s is missing: what was its true value?", what)
	}
	x, err := measure.ParseNumber(text, unit)
	if err != nil {
		return quantity.Value{}, fmt.Errorf("%s: %w", what, err)
	}
	if uText == "" {
		return quantity.Exact(x), nil
	}
	u, err := measure.ParseNumber(uText, "1")
	if err == nil {
		u *= x
	} else if u, err = measure.ParseNumber(uText, unit); err != nil {
		return quantity.Value{}, fmt.Errorf("uncertainty of the %s: %w", what, err)
	}
	if u < 0 {
		return quantity.Value{}, fmt.Errorf("uncertainty of the %s: found %q, expected none below zero", what, uText)
	}
	return quantity.New(x, quantity.Contribution{Source: quantity.Source{ID: "reference", Name: "the reference"}, C: u}), nil
}

// ParseValidity reads how long a calibration holds; empty is for ever.
func ParseValidity(text string) (time.Duration, error) {
	if text == "" {
		return 0, nil
	}
	seconds, err := measure.ParseNumber(text, "s")
	if err == nil && (seconds <= 0 || seconds > maxValidityS) {
		err = fmt.Errorf("found %q, expected a time of up to ten years, for example 365 d", text)
	}
	return time.Duration(seconds * float64(time.Second)), err
}

// maxValidityS is ten years.
const maxValidityS = 10 * 366 * 86400
