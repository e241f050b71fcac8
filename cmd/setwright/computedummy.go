package main

import (
	"fmt"
	"math/cmplx"

	"github.com/spf13/cobra"

	"setwright/quantity"
)

// dummyUsualHz are the frequencies of the table where none is named.
var dummyUsualHz = []string{"0.15 MHz", "0.5 MHz", "1 MHz", "1.6 MHz", "2.2 MHz", "3.5 MHz", "7 MHz", "14 MHz", "28 MHz"}

func newComputeDummy() *cobra.Command {
	var source, load, name string
	cmd := &cobra.Command{
		Use: "dummy [FREQUENCY...]", Short: "Impedance of a dummy antenna, and what it leaves of the generator's voltage", Args: cobra.ArbitraryArgs,
		Example: `  setwright compute dummy
  setwright compute dummy "1 MHz" "7.1 MHz" --load 400`,
	}
	cmd.Flags().StringVar(&name, "dummy", "standard", "which: standard, 400")
	cmd.Flags().StringVar(&source, "source", "50", "resistance of the generator, ohms")
	cmd.Flags().StringVar(&load, "load", "", "input resistance of the receiver, ohms")
	asJSON := jsonFlag(cmd)
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			args = dummyUsualHz
		}
		c, err := computeDummy(args, levelFlags{source: source, load: load, dummy: name, tolerance: "0"})
		if err != nil {
			return err
		}
		return c.print(cmd, *asJSON)
	}
	return cmd
}

// computeDummy makes the table of a dummy antenna.
func computeDummy(frequencies []string, f levelFlags) (*computed, error) {
	source, err := positive("--source", f.source, "Ω")
	if err != nil {
		return nil, err
	}
	path, err := f.path()
	if err != nil {
		return nil, err
	}
	c := &computed{method: "dummy/1", heading: []string{"frequency", "impedance", "size", "R with generator"}}
	if path.HasLoad() {
		c.heading = append(c.heading, "PD of 1 V EMF")
	}
	for _, text := range frequencies {
		if path.Hz, err = positive("frequency", text, "Hz"); err != nil {
			return nil, err
		}
		z := path.Dummy.Impedance(path.Hz)
		r := path.Dummy.Resistance(source, path.Hz)
		row := []string{printer.Told(path.Hz, "Hz", 6), impedance(z), fmt.Sprintf("%.1f Ω", cmplx.Abs(z)), ohms(r.Estimate())}
		at := map[string]string{"dummy": path.Dummy.ID, "frequency_hz": plainNumber(path.Hz)}
		c.add("resistance", "Ω", quantity.Exact(real(z)), at)
		c.add("reactance", "Ω", quantity.Exact(imag(z)), at)
		if path.HasLoad() {
			across := path.Dummy.Across(source, path.LoadOhm, path.Hz)
			row = append(row, told(across, "V"))
			c.add("pd_per_emf", "1", across, with(at, "load_ohm", plainNumber(real(path.LoadOhm))))
		}
		c.rows = append(c.rows, row)
	}
	c.say("Dummy antenna: %s, in series with a generator of %s.", path.Dummy.Title, ohms(source))
	if path.Dummy.ID == "standard" {
		c.note("the older rule is 200 pF up to 1.7 MHz and 400 Ω above; the network goes from one to the other. Build it screened, with short leads")
	}
	return c, nil
}
