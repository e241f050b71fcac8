package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// newBench builds "bench": instruments, bench cards and live sound.
func newBench(registry *measure.Registry) *cobra.Command {
	cmd := &cobra.Command{Use: "bench", Short: "Instruments of the bench, cards to fill in by hand, live sound"}
	cmd.AddCommand(newBenchAdd(), newBenchCalibrate(), newBenchList(), newBenchCard(), newBenchListen(registry), newBenchRecover())
	return cmd
}

func newBenchAdd() *cobra.Command {
	var in run.Instrument
	var relative, resolution string
	cmd := &cobra.Command{
		Use: "add NAME", Short: "Add an instrument, or a new calibration of one", Args: cobra.ExactArgs(1),
		Example: `  setwright bench add "seven-digit counter" --id counter-1 --epoch 2024-01 --relative "0.5 ppm"`,
	}
	f := cmd.Flags()
	f.StringVar(&in.ID, "id", "", "short handle (default: made from the name)")
	f.StringVar(&in.Epoch, "epoch", "", "calibration epoch, for example 2024-01")
	f.StringVar(&in.Reads, "reads", "frequency", "which column it reads")
	f.StringVar(&in.Cell, "cell", "", "range in which its error is common to all readings")
	f.StringVar(&relative, "relative", "", "standard uncertainty common to all readings, as a fraction, for example \"1 ppm\"")
	f.StringVar(&resolution, "resolution", "", "one step of its display")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		in.Name = args[0]
		var err error
		if relative != "" {
			if in.Relative, err = flagNumber("--relative", relative, "1"); err != nil {
				return err
			}
		}
		if resolution != "" {
			if in.Resolution, err = flagNumber("--resolution", resolution, "Hz"); err != nil {
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
					rows = append(rows, []string{in.ID, in.Name, in.Epoch, in.Reads, printer.Told(1e6*in.Relative, "ppm", 3)})
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
