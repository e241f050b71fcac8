// Package soundinput calibrates the sound input of a computer as a measuring
// instrument: its level from one tone of known voltage, its sample rate from a
// known frequency or the ticks of a standard-frequency broadcast, its own noise
// from a recording of nothing, its own distortion from its own output.
package soundinput

import (
	"context"
	"fmt"
	"math"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// Level is a recording of one tone, and its rms voltage at the input as a meter
// read it.
type Level struct {
	Recording measure.Recording
	Volts     quantity.Value
}

// Rate is a recording of a known frequency: of a tone of so many hertz, or,
// with Ticks, of marks a second apart that a standard-frequency station sends.
type Rate struct {
	Recording measure.Recording
	Hz        quantity.Value
	Ticks     bool
}

// Given is what a calibration is made from; what is nil is left as it was.
type Given struct {
	Level *Level
	Rate  *Rate
	Quiet *measure.Recording // the input closed by what the set's output has, nothing playing
	Loop  *measure.Recording // a pure tone from the computer's own output
}

// Result is a calibration and what it says in words.
type Result struct {
	Sound     run.Sound
	Sentences []string
	Warnings  []string
}

// Calibrate works a calibration out. before is the one so far: what is not
// calibrated anew is kept.
func Calibrate(ctx context.Context, before run.Sound, g Given, progress func(float64)) (Result, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	c := &calibration{ctx: ctx, out: Result{Sound: before}}
	steps := []struct {
		wanted bool
		do     func() error
	}{
		{g.Level != nil, func() error { return c.level(*g.Level) }},
		{g.Rate != nil, func() error { return c.rate(*g.Rate) }},
		{g.Quiet != nil, func() error { return c.quiet(*g.Quiet) }},
		{g.Loop != nil, func() error { return c.loop(*g.Loop) }},
	}
	any := false
	for i, s := range steps {
		if s.wanted {
			any = true
			if err := s.do(); err != nil {
				return Result{}, err
			}
		}
		progress(float64(i+1) / float64(len(steps)))
	}
	if !any {
		return Result{}, &measure.Refusal{Row: -1, Found: "no recording to calibrate by", Expected: "a tone of known level, a known frequency, a recording of nothing, or a tone from the computer's own output"}
	}
	c.out.Sound.From = strings.Join(c.from, "; ")
	return c.out, nil
}

type calibration struct {
	ctx  context.Context
	out  Result
	from []string
}

func (c *calibration) say(format string, args ...any) {
	c.out.Sentences = append(c.out.Sentences, fmt.Sprintf(format, args...))
}

// refuse is a recording that does not serve.
func refuse(rec measure.Recording, found, expected, advice string) error {
	return &measure.Refusal{Row: -1, Found: rec.Name + ": " + found, Expected: expected, Advice: advice}
}

// each opens a recording, reads it by do and closes it.
func (c *calibration) each(rec measure.Recording, do func(src signal.Source) error) error {
	src, err := rec.Open(c.ctx)
	if err != nil {
		return err
	}
	defer src.Close()
	return do(src)
}

// faultless refuses a recording that is clipped.
func (c *calibration) faultless(rec measure.Recording) error {
	return c.each(rec, func(src signal.Source) error {
		found, err := signal.Inspect(c.ctx, src, signal.InspectOptions{Frames: rec.Frames}, nil)
		switch {
		case err != nil:
			return err
		case found.ClippedFrames > 0:
			return refuse(rec, fmt.Sprintf("%d samples are clipped", found.ClippedFrames), "a tone that stays below full scale", "turn the level down and record it again")
		case found.AutoGain != nil && found.AutoGain.Found:
			return refuse(rec, "the input changes its gain by itself", "a fixed gain", "switch automatic gain off in the system's sound settings")
		}
		return nil
	})
}

// tone analyses the one strong tone of a recording.
func (c *calibration) tone(rec measure.Recording) (t *signal.Tone, err error) {
	err = c.each(rec, func(src signal.Source) error {
		t, err = signal.AnalyseTone(c.ctx, src, signal.ToneOptions{Gaps: rec.Gaps(), Frames: rec.Frames}, nil)
		return err
	})
	return t, err
}

// The least that a tone must stand above what else is recorded, and its least
// level, for its amplitude to be worth keeping.
const (
	leastSINADdB = 20
	leastDBFS    = -50
)

// level takes the voltage of full scale from a tone of known voltage.
func (c *calibration) level(l Level) error {
	if err := c.faultless(l.Recording); err != nil {
		return err
	}
	t, err := c.tone(l.Recording)
	if err != nil {
		return err
	}
	volts := l.Volts.Estimate()
	switch {
	case !(volts > 0):
		return refuse(l.Recording, fmt.Sprintf("a level of %g V", volts), "the rms voltage of the tone, above zero", "")
	case t.SINADRadio < leastSINADdB:
		return refuse(l.Recording, fmt.Sprintf("a tone only %.1f dB above noise and distortion", t.SINADRadio), fmt.Sprintf("%d dB at least", leastSINADdB), "a meter would read the noise too")
	case t.LevelDBFS < leastDBFS:
		return refuse(l.Recording, fmt.Sprintf("a tone of %.0f dBFS", t.LevelDBFS), fmt.Sprintf("one of %d dBFS at least", leastDBFS), "turn the level up")
	}
	peak := math.Sqrt(2 * t.Power)
	s := &c.out.Sound
	s.FullScaleV = volts / peak
	s.FullScaleRelativeU = math.Hypot(l.Volts.U()/volts, t.PowerU/(2*t.Power))
	if l.Volts.U() == 0 {
		c.out.Warnings = append(c.out.Warnings, "no uncertainty was given for the meter: that of the level calibration holds the recording's noise only")
	}
	full := quantity.New(s.FullScaleV, quantity.Contribution{Source: quantity.Source{ID: "u"}, C: s.FullScaleV * s.FullScaleRelativeU})
	c.say("A sine that just fills the scale has %s rms, by a tone of %s at %.1f dBFS.", quantity.Format(full, "V"), quantity.FormatNumber(math.Round(t.Hz), "Hz"), t.LevelDBFS)
	c.from = append(c.from, "level by a tone of "+quantity.Format(l.Volts, "V"))
	return nil
}

// quiet takes the input's own noise density: the median over frequency, which
// lines of hum do not move.
func (c *calibration) quiet(rec measure.Recording) error {
	return c.each(rec, func(src signal.Source) error {
		s, err := signal.Welch(c.ctx, src, signal.SpectrumOptions{Segment: 8192, Gaps: rec.Gaps(), Frames: rec.Frames}, nil)
		if err != nil {
			return err
		}
		density := medianDensity(s, 200, math.Min(8000, 0.45*s.RateHz))
		if density <= 0 {
			return refuse(rec, "nothing but zeros", "the input's own noise", "an input that gives exact zeros is switched off, or a noise gate is in its way")
		}
		c.out.Sound.FloorDensity = density
		c.say("The input's own noise is %.1f dBFS in a band of 3 kHz.", 10*math.Log10(2*density*3000))
		c.from = append(c.from, "noise by a recording of nothing")
		return nil
	})
}

// medianDensity is the median over a band, put right for the difference between
// the median and the mean of an averaged spectrum (chi-squared, by the
// approximation of Wilson and Hilferty).
func medianDensity(s *signal.Spectrum, fromHz, toHz float64) float64 {
	var in []float64
	for k := s.Bin(fromHz); k < len(s.Density) && float64(k)*s.DF() <= toHz; k++ {
		in = append(in, s.Density[k])
	}
	if len(in) == 0 {
		return 0
	}
	dof := math.Max(2, 2*s.Effective)
	return median(in) / math.Pow(1-2/(9*dof), 3)
}

// loop takes the input's own distortion from a tone of its own output.
func (c *calibration) loop(rec measure.Recording) error {
	if err := c.faultless(rec); err != nil {
		return err
	}
	t, err := c.tone(rec)
	if err != nil {
		return err
	}
	if t.SINADRadio < leastSINADdB {
		return refuse(rec, fmt.Sprintf("a tone only %.1f dB above noise and distortion", t.SINADRadio), fmt.Sprintf("%d dB at least", leastSINADdB), "join output and input by a short cable, and play one pure tone")
	}
	// Output and input together: the input alone can be better, never worse
	// than this by more than their cancelling, which is taken as not happening.
	c.out.Sound.OwnDistortion = t.THD
	c.say("Output and input together distort by %.4f %% at %.0f Hz and %.1f dBFS: what a set is found to distort is not less certain than that.", 100*t.THD, t.Hz, t.LevelDBFS)
	c.from = append(c.from, "distortion by its own output")
	return nil
}
