package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"setwright/noise"
	"setwright/quantity"
	"setwright/superhet"
)

// noiseFlags are what "compute noise" is told beside the frequency.
type noiseFlags struct{ surroundings, bandwidth, figure, source string }

func newComputeNoise() *cobra.Command {
	var f noiseFlags
	cmd := &cobra.Command{
		Use: "noise FREQUENCY", Short: "External noise to be expected by ITU-R P.372, and how quiet a receiver need be", Args: cobra.ExactArgs(1),
		Example: `  setwright compute noise "7 MHz" --surroundings rural --bandwidth "3 kHz"
  setwright compute noise "14 MHz" --noise-figure "15 dB"`,
	}
	cmd.Flags().StringVar(&f.surroundings, "surroundings", "", "one of "+choiceWords(noise.SurroundingsNames())+" (default: all)")
	cmd.Flags().StringVar(&f.bandwidth, "bandwidth", "3 kHz", "noise bandwidth of the receiver")
	cmd.Flags().StringVar(&f.figure, "noise-figure", "", "noise figure of the receiver, for the margin")
	cmd.Flags().StringVar(&f.source, "source", "50", "resistance at which microvolts are told, ohms")
	asJSON := jsonFlag(cmd)
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		c, err := computeNoise(args[0], f)
		if err != nil {
			return err
		}
		return c.print(cmd, *asJSON)
	}
	return cmd
}

// mostFigureDB is the most that --noise-figure takes.
const mostFigureDB = 200

// noiseAsk is a question about external noise, read.
type noiseAsk struct {
	hz, bandwidth, ohm float64
	figure             quantity.Value
	hasFigure          bool
	places             []noise.Surroundings
}

func (f noiseFlags) read(frequency string) (a noiseAsk, err error) {
	if a.hz, err = positive("frequency", frequency, "Hz"); err != nil {
		return a, err
	}
	if a.bandwidth, err = positive("--bandwidth", f.bandwidth, "Hz"); err != nil {
		return a, err
	}
	if a.ohm, err = positive("--source", f.source, "Ω"); err != nil {
		return a, err
	}
	if f.figure != "" {
		a.hasFigure = true
		if a.figure, err = typedValue("--noise-figure", f.figure, "dB", typedSource("noise figure")); err != nil {
			return a, err
		}
		if !(a.figure.Estimate() >= 0 && a.figure.Estimate() <= mostFigureDB) {
			return a, usagef("--noise-figure: found %q, expected 0 dB to %d dB", f.figure, mostFigureDB)
		}
	}
	a.places = noise.AllSurroundings()
	if f.surroundings != "" {
		p, err := noise.FindSurroundings(f.surroundings)
		if err != nil {
			return a, usagef("--surroundings: %w", err)
		}
		a.places = []noise.Surroundings{p}
	}
	return a, nil
}

// computeNoise works out the external noise.
func computeNoise(frequency string, f noiseFlags) (*computed, error) {
	a, err := f.read(frequency)
	if err != nil {
		return nil, err
	}
	c := &computed{method: "noise/1", heading: []string{"surroundings", "Fa", "from", "to", "power", "at " + ohms(a.ohm), "field", "set's figure for 1 dB more"}}
	if a.hasFigure {
		c.heading = append(c.heading, "rise on the antenna")
	}
	for _, p := range a.places {
		e, err := p.At(a.hz)
		var outside *noise.RangeError
		switch {
		case errors.As(err, &outside) && len(a.places) > 1:
			c.note("%v", err)
		case err != nil:
			return nil, usagef("%w", err)
		default:
			c.place(p, e, a)
		}
	}
	if len(c.rows) == 0 {
		return nil, usagef("%s", c.notes[0])
	}
	c.note("Fa is the median in dB above kT0B for a short lossless vertical antenna; on one occasion in ten it is below \"from\", on one in ten above \"to\". Noise of thunderstorms is not in it: at low and medium frequencies by night it is often the stronger")
	c.note("Recommendation ITU-R P.372; galactic noise is added from 10 to 100 MHz. A real antenna with losses brings less")
	return c, nil
}

// place adds one kind of surroundings.
func (c *computed) place(p noise.Surroundings, e noise.External, a noiseAsk) {
	level := noise.PowerDBm(e.MedianDB, a.bandwidth)
	micro := superhet.Level{DBm: quantity.Exact(level), SourceOhm: a.ohm}.MatchedPD()
	need := noise.FigureForRise(e.MedianDB, 1)
	row := []string{p.Title, decibels(quantity.Exact(e.MedianDB), "dB"), fmt.Sprintf("%.1f", e.MedianDB-e.LowerDB), fmt.Sprintf("%.1f", e.MedianDB+e.UpperDB),
		decibels(quantity.Exact(level), "dBm"), printer.Told(micro.Estimate(), "V", 3),
		decibels(quantity.Exact(noise.FieldStrength(e.MedianDB, a.hz, a.bandwidth)), "dBµV/m"), fmt.Sprintf("%.1f dB", need)}
	at := map[string]string{"surroundings": p.ID, "frequency_hz": plainNumber(a.hz), "bandwidth_hz": plainNumber(a.bandwidth)}
	c.add("external_noise", "dB", e.Value(), at)
	c.add("external_noise_power", "dBm", e.Value().Shift(noise.ThermalDBm(a.bandwidth)), at)
	c.add("noise_figure_needed", "dB", quantity.Exact(need), at)
	if a.hasFigure {
		rise := noise.Rise(e.Value(), a.figure)
		row = append(row, decibels(rise, "dB"))
		c.add("margin_external", "dB", rise, at)
		c.add("system_noise_figure", "dB", quantity.Exact(noise.System(e.MedianDB, a.figure.Estimate(), noise.Antenna{})), at)
	}
	c.rows = append(c.rows, row)
	if len(a.places) == 1 {
		c.say("%s, %s: external noise of %s in %s; a noise figure of %.0f dB adds one more.", p.Title, printer.Told(a.hz, "Hz", 6),
			decibels(quantity.Exact(level), "dBm"), printer.Told(a.bandwidth, "Hz", 4), need)
	}
}
