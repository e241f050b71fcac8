package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"setwright/quantity"
	"setwright/superhet"
)

// levelFlags are what "compute level" is told beside the level.
type levelFlags struct {
	source, load, dummy, tolerance, frequency, pad string
}

func newComputeLevel() *cobra.Command {
	var f levelFlags
	cmd := &cobra.Command{
		Use: "level LEVEL", Short: "dBm, µV EMF and µV PD of a generator, and what the receiver gets", Args: cobra.ExactArgs(1),
		Example: `  setwright compute level "-73 dBm"
  setwright compute level "50 µV emf" --dummy standard --frequency "7.1 MHz"
  setwright compute level "-33 dBm ± 1 dB" --pad "20 dB" --load 300`,
	}
	cmd.Flags().StringVar(&f.source, "source", "50", "resistance of the generator, ohms")
	cmd.Flags().StringVar(&f.load, "load", "", "input resistance of the receiver, ohms")
	cmd.Flags().StringVar(&f.dummy, "dummy", "none", "dummy antenna: "+choiceWords(superhet.DummyNames()))
	cmd.Flags().StringVar(&f.tolerance, "dummy-tolerance", "0 %", "one standard uncertainty of each part of the dummy antenna")
	cmd.Flags().StringVar(&f.frequency, "frequency", "", "frequency, for the standard dummy antenna and the S-meter")
	cmd.Flags().StringVar(&f.pad, "pad", "", "loss of a pad behind the generator, for example \"20 dB\"")
	asJSON := jsonFlag(cmd)
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		c, err := computeLevel(args[0], f)
		if err != nil {
			return err
		}
		return c.print(cmd, *asJSON)
	}
	return cmd
}

// computeLevel follows a level from the generator to the receiver.
func computeLevel(text string, f levelFlags) (*computed, error) {
	source, err := positive("--source", f.source, "Ω")
	if err != nil {
		return nil, err
	}
	level, err := superhet.ParseLevel(text, superhet.Reading{SourceOhm: source, Source: typedSource("level")})
	if err != nil {
		return nil, typedError("level", err)
	}
	path, err := f.path()
	if err != nil {
		return nil, err
	}
	arrival, err := path.Arrive(level)
	if err != nil {
		return nil, usagef("--dummy %s: %w; add --frequency", f.dummy, err)
	}
	c := &computed{method: "level/1", heading: []string{"", "at the generator"}}
	c.say("%s from %s is %s EMF, %s PD across %s.", decibels(level.DBm, "dBm"), ohms(source), told(level.EMF(), "V"), told(level.MatchedPD(), "V"), ohms(source))
	c.rows = [][]string{
		{"available power", decibels(level.DBm, "dBm")},
		{"EMF, open circuit", told(level.EMF(), "V")}, {"", decibels(superhet.DBuV(level.EMF()), "dBµV")},
		{"PD, matched load", told(level.MatchedPD(), "V")}, {"", decibels(superhet.DBuV(level.MatchedPD()), "dBµV")},
	}
	at := map[string]string{"at": "generator", "source_ohm": plainNumber(source)}
	c.add("available_power", "dBm", level.DBm, at)
	c.add("emf", "V", level.EMF(), at)
	c.add("pd_matched", "V", level.MatchedPD(), at)
	if path.PadDB.Estimate() != 0 || path.Dummy.ID != "none" || path.HasLoad() {
		c.receiver(path, arrival)
	}
	c.meter(level, path)
	return c, nil
}

// path reads what lies between generator and receiver.
func (f levelFlags) path() (superhet.Path, error) {
	var p superhet.Path
	var err error
	if p.Dummy, err = superhet.FindDummy(f.dummy); err != nil {
		return p, usagef("--dummy: %w", err)
	}
	if p.Dummy.Tolerance, err = flagNumber("--dummy-tolerance", f.tolerance, "1"); err != nil {
		return p, err
	}
	if p.Dummy.Tolerance < 0 || p.Dummy.Tolerance > 0.5 {
		return p, usagef("--dummy-tolerance: found %q, expected 0 to 50 %%", f.tolerance)
	}
	if f.load != "" {
		load, err := positive("--load", f.load, "Ω")
		if err != nil {
			return p, err
		}
		p.LoadOhm = complex(load, 0)
	}
	if f.frequency != "" {
		if p.Hz, err = positive("--frequency", f.frequency, "Hz"); err != nil {
			return p, err
		}
	}
	if f.pad != "" {
		if p.PadDB, err = typedValue("--pad", f.pad, "dB", typedSource("pad")); err != nil {
			return p, err
		}
		if p.PadDB.Estimate() < 0 {
			return p, usagef("--pad: found %q, expected a loss of 0 dB or more", f.pad)
		}
	}
	return p, nil
}

// receiver adds what reaches the receiver.
func (c *computed) receiver(p superhet.Path, a superhet.Arrival) {
	c.heading = append(c.heading, "at the receiver")
	pdLabel := "PD at the receiver"
	pd, pdLevel := "?", ""
	if p.HasLoad() {
		pd, pdLevel = told(a.PD, "V"), decibels(superhet.DBuV(a.PD), "dBµV")
	}
	for i, cell := range []string{decibels(a.DBm, "dBm"), told(a.EMF, "V"), decibels(superhet.DBuV(a.EMF), "dBµV")} {
		c.rows[i] = append(c.rows[i], cell)
	}
	c.rows = append(c.rows, []string{pdLabel, "", pd})
	if pdLevel != "" {
		c.rows = append(c.rows, []string{"", "", pdLevel})
	}
	c.rows = append(c.rows, []string{"source impedance", "", impedance(a.Source)})
	at := map[string]string{"at": "receiver", "dummy": p.Dummy.ID}
	if p.Hz > 0 {
		at["frequency_hz"] = plainNumber(p.Hz)
	}
	c.add("emf", "V", a.EMF, at)
	c.add("available_power", "dBm", a.DBm, at)
	c.add("source_resistance", "Ω", quantity.Exact(real(a.Source)), at)
	c.add("source_reactance", "Ω", quantity.Exact(imag(a.Source)), at)
	if p.HasLoad() {
		c.add("pd", "V", a.PD, at)
		c.add("mismatch_loss", "dB", quantity.Exact(a.LossDB), at)
		c.say("The receiver's %s gets %s, %s less power than is available.", ohms(real(p.LoadOhm)), told(a.PD, "V"), decibels(quantity.Exact(a.LossDB), "dB"))
	} else {
		c.note("what voltage stands at the receiver depends on its input resistance: add --load")
	}
	if p.Dummy.ID != "none" {
		c.note("dummy antenna: %s, in series with the generator. It leaves the EMF as it is; sensitivities through it are quoted as EMF behind it", p.Dummy.Title)
	}
	if p.PadDB.Estimate() != 0 {
		c.note("the pad is taken to be made for the generator's resistance")
	}
}

// meter adds the reading of a standard signal meter.
func (c *computed) meter(l superhet.Level, p superhet.Path) {
	hz := p.Hz
	where := ""
	if hz == 0 {
		where = " (below 30 MHz)"
	}
	reading := superhet.SMeter(l.Behind(p.PadDB).DBm.Estimate(), hz)
	c.rows = append(c.rows, []string{"S-meter, standard" + where, reading})
	c.note("S-meter: IARU Region 1 recommendation R.1, S9 = −73 dBm (−93 dBm above 30 MHz) and 6 dB a unit; few old sets keep to it")
}

func ohms(x float64) string { return printer.Told(x, "Ω", 4) }

// impedance prints a complex impedance.
func impedance(z complex128) string {
	if imag(z) == 0 {
		return ohms(real(z))
	}
	sign := "+"
	x := imag(z)
	if x < 0 {
		sign, x = "−", -x
	}
	return fmt.Sprintf("%.1f %s j%.1f Ω", real(z), sign, x)
}
