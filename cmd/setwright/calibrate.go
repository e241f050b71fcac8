package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"setwright/internal/intake"
	"setwright/internal/measure/soundinput"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// calibrateFlags are what is given on the command line.
type calibrateFlags struct {
	level, volts, voltsU   string
	rate, hz, hzU, ticks   string
	quiet, loop            string
	name, epoch, valid, ch string
}

// newBenchCalibrate builds "bench calibrate": the sound input as an instrument.
func newBenchCalibrate() *cobra.Command {
	var f calibrateFlags
	cmd := &cobra.Command{
		Use: "calibrate ID", Short: "Calibrate a sound input by recordings of known things", Args: cobra.ExactArgs(1),
		Long: `A sound input becomes a measuring instrument by recordings of known things:

  --level FILE   one tone, its rms voltage read by a meter at the input (--volts)
  --rate FILE    a tone of known frequency (--frequency): a generator, or one a counter read
  --ticks FILE   instead: the second ticks of a standard-frequency broadcast
  --quiet FILE   nothing playing, the input terminated by a resistor of the set's output load: its own noise
  --loop FILE    a pure tone from the computer's own output: its own distortion

What is not given stays as it was. Leave the input's gain where it is from then on: the level
holds for that setting alone. Receivers' loudspeaker lines can be at a high voltage to the
chassis: couple through a transformer or capacitors rated for it, and fit an attenuator.`,
		Example: `  setwright bench calibrate card-1 --name "sound input of the bench computer" \
      --level tone.wav --volts 0.775V --volts-u 1% --rate tone.wav --frequency 1000Hz --frequency-u 0.5ppm`,
	}
	fl := cmd.Flags()
	fl.StringVar(&f.name, "name", "", "its name, where it is not on the bench yet")
	fl.StringVar(&f.level, "level", "", "recording of a tone of known voltage")
	fl.StringVar(&f.volts, "volts", "", "rms voltage of that tone")
	fl.StringVar(&f.voltsU, "volts-u", "", "standard uncertainty of the voltage, as a part of it or in volts")
	fl.StringVar(&f.rate, "rate", "", "recording of a tone of known frequency")
	fl.StringVar(&f.hz, "frequency", "", "true frequency of that tone")
	fl.StringVar(&f.hzU, "frequency-u", "", "standard uncertainty of the frequency, as a part of it or in hertz")
	fl.StringVar(&f.ticks, "ticks", "", "recording of second ticks")
	fl.StringVar(&f.quiet, "quiet", "", "recording of nothing")
	fl.StringVar(&f.loop, "loop", "", "recording of a tone from the computer's own output")
	fl.StringVar(&f.epoch, "epoch", "", "name of this calibration (default: today)")
	fl.StringVar(&f.valid, "valid", "365 d", "how long it holds")
	fl.StringVar(&f.ch, "channel", "1", "of the recordings: its number from 1, left, right, or mean")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		c, err := f.calibration(args[0])
		if err != nil {
			return err
		}
		return withShop(cmd, true, func(shop *workshop.Shop) error {
			bar := newProgress(cmd.ErrOrStderr(), "calibrating")
			in, made, err := shop.CalibrateSound(cmd.Context(), c, bar.set)
			bar.done()
			if err != nil {
				return err
			}
			printCalibration(cmd, in, made)
			return nil
		})
	}
	return cmd
}

func printCalibration(cmd *cobra.Command, in run.Instrument, made soundinput.Result) {
	w := cmd.OutOrStdout()
	for _, s := range made.Sentences {
		fmt.Fprintln(w, wrap(s, 92, ""))
	}
	printList(w, "Warnings", made.Warnings)
	until := ""
	if in.Sound != nil && !in.Sound.Expires.IsZero() {
		until = ", good until " + in.Sound.Expires.Format("2 January 2006")
	}
	fmt.Fprintf(w, "%s is on the bench as %q, calibration %s%s.\n", in.Name, in.ID, in.Epoch, until)
}

// calibration reads the flags.
func (f calibrateFlags) calibration(id string) (workshop.SoundCalibration, error) {
	c := workshop.SoundCalibration{Instrument: id, Name: f.name, Epoch: f.epoch}
	ch, err := parseChannel(f.ch)
	if err != nil {
		return c, err
	}
	if f.rate != "" && f.ticks != "" {
		return c, usagef("--rate and --ticks: give one of them")
	}
	for _, x := range []struct {
		name string
		to   **workshop.SoundFile
	}{{f.level, &c.Level}, {f.rate, &c.Rate}, {f.ticks, &c.Rate}, {f.quiet, &c.Quiet}, {f.loop, &c.Loop}} {
		if x.name == "" {
			continue
		}
		src, err := intake.FileSource(filepath.Clean(x.name))
		if err != nil {
			return c, err
		}
		*x.to = &workshop.SoundFile{Source: src, Channel: ch}
	}
	c.Ticks = f.ticks != ""
	if f.level != "" {
		if c.Volts, err = workshop.ParseKnown("--volts", f.volts, f.voltsU, "V"); err != nil {
			return c, usageError{err}
		}
	}
	if f.rate != "" {
		if c.Hz, err = workshop.ParseKnown("--frequency", f.hz, f.hzU, "Hz"); err != nil {
			return c, usageError{err}
		}
	}
	if c.ValidFor, err = workshop.ParseValidity(f.valid); err != nil {
		return c, usagef("--valid: %w", err)
	}
	return c, nil
}
