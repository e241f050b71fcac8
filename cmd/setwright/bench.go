package main

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// newBench builds "bench": instruments, bench cards and live sound.
func newBench(registry *measure.Registry) *cobra.Command {
	cmd := &cobra.Command{Use: "bench", Short: "Instruments of the bench, cards to fill in by hand, live sound"}
	cmd.AddCommand(newBenchAdd(registry), newBenchCalibrate(), newBenchList(), newBenchCard(), newBenchListen(registry), newBenchRecover())
	return cmd
}

func newBenchAdd(registry *measure.Registry) *cobra.Command {
	var in run.Instrument
	var relative, absolute, resolution string
	cmd := &cobra.Command{
		Use: "add NAME", Short: "Add an instrument, or a new calibration of one", Args: cobra.ExactArgs(1),
		Example: `  setwright bench add "seven-digit counter" --id counter-1 --epoch 2024-01 --relative "0.5 ppm"
  setwright bench add "signal generator" --id generator-1 --reads input --absolute "0.8 dB"`,
	}
	f := cmd.Flags()
	f.StringVar(&in.ID, "id", "", "short handle (default: made from the name)")
	f.StringVar(&in.Epoch, "epoch", "", "calibration epoch, for example 2024-01")
	f.StringVar(&in.Reads, "reads", "frequency", "which column it reads")
	f.StringVar(&in.Cell, "cell", "", "range in which its error is common to all readings")
	f.StringVar(&relative, "relative", "", "standard uncertainty common to all readings, as a fraction, for example \"1 ppm\"")
	f.StringVar(&absolute, "absolute", "", "the same whatever the reading, for example \"0.2 °C\", of a generator's level \"0.8 dB\"")
	f.StringVar(&resolution, "resolution", "", "one step of its display")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		in.Name = args[0]
		unit, err := unitRead(registry, in.Reads)
		if err != nil {
			return err
		}
		for _, x := range []struct {
			flag, text, unit string
			to               *float64
		}{{"--relative", relative, "1", &in.Relative}, {"--absolute", absolute, unit, &in.Absolute}, {"--resolution", resolution, unit, &in.Resolution}} {
			if x.text == "" {
				continue
			}
			if *x.to, err = flagNumber(x.flag, x.text, x.unit); err != nil {
				return err
			}
		}
		return withShop(cmd, true, func(shop *workshop.Shop) error {
			made, err := shop.AddInstrument(cmd.Context(), in)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s is on the bench as %q.\n", made.Name, made.ID)
			return nil
		})
	}
	return cmd
}

// unitRead is the unit in which the error of an instrument is given.
func unitRead(registry *measure.Registry, reads string) (string, error) {
	if reads == run.ReadsSound {
		return "V", nil
	}
	roles := []string{run.ReadsSound}
	for _, c := range registry.Readable() {
		if c.Role == reads {
			return workshop.ErrorUnit(c.Unit), nil
		}
		roles = append(roles, c.Role)
	}
	return "", usagef("--reads: found %q, expected one of %s", reads, strings.Join(roles, ", "))
}

// howWell says how well an instrument reads.
func howWell(registry *measure.Registry, in run.Instrument) string {
	var parts []string
	if in.Relative > 0 {
		parts = append(parts, printer.Told(1e6*in.Relative, "ppm", 3))
	}
	if in.Absolute > 0 {
		unit, err := unitRead(registry, in.Reads)
		if err != nil {
			unit = ""
		}
		parts = append(parts, printer.Told(in.Absolute, unit, 3))
	}
	return cmp.Or(strings.Join(parts, " and "), "–")
}

func newBenchList() *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "The instruments of the bench", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withShop(cmd, false, func(shop *workshop.Shop) error {
				all, err := shop.Book.Instruments(cmd.Context())
				if err != nil {
					return err
				}
				if len(all) == 0 {
					fmt.Fprintln(cmd.OutOrStdout(), "No instrument yet. Add one with: setwright bench add NAME")
					return nil
				}
				rows := [][]string{{"instrument", "name", "calibration", "reads", "standard uncertainty"}}
				for _, in := range all {
					rows = append(rows, []string{in.ID, in.Name, in.Epoch, in.Reads, howWell(shop.Registry, in)})
				}
				printTable(cmd.OutOrStdout(), rows)
				for _, in := range all {
					printList(cmd.OutOrStdout(), in.Name+", calibration "+in.Epoch, workshop.CalibrationWords(in, shop.Clock()))
				}
				return nil
			})
		},
	}
}
