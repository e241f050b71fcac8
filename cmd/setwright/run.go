package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/measure/list"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// newRun builds "run": what was measured, kept in the book.
func newRun(registry *measure.Registry) *cobra.Command {
	cmd := &cobra.Command{Use: "run", Short: "Import logs, type readings, amend, show"}
	cmd.AddCommand(newRunImport(registry), newRunType(registry), newRunShow(), newRunAmend(), newRunRaw(), newRunHide(), newRunUnhide())
	return cmd
}

// aboutOf is the measurement a run command is for.
func aboutOf(kind string) (measure.About, error) {
	registry, err := list.Registry()
	if err != nil {
		return measure.About{}, err
	}
	m, err := registry.Get(kind)
	if err != nil {
		return measure.About{}, usageError{err}
	}
	return m.About(), nil
}

func newRunImport(registry *measure.Registry) *cobra.Command {
	var n workshop.NewRun
	var started, channel string
	cmd := &cobra.Command{
		Use: "import STATE FILE...", Short: "Store logs and recordings as runs of a state; the files are kept byte for byte",
		Long: `STATE is a state, or a set or configuration whose latest state is meant. What was set while a
recording was made is written behind its name: tone.wav@input=-73dBm,signal=on; recordings of a
measurement that takes many make one run. "analyse KIND --help" tells the labels.`,
		Args: cobra.MinimumNArgs(2),
	}
	chosen := measurementFlags(cmd, registry)
	over := overrideFlags(cmd)
	cmd.Flags().StringVar(&channel, "channel", "1", "of a recording: its number from 1, left, right, or mean")
	cmd.Flags().StringVar(&n.Notes, "notes", "", "what happened during the run")
	cmd.Flags().StringVar(&started, "started", "", "date and time of power-on, where the log does not say")
	cmd.Flags().StringVar(&n.Setup.Operator, "operator", "", "who read the instruments")
	instruments := cmd.Flags().StringArray("instrument", nil, "ID of an instrument of the bench that was used")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		o, err := over()
		if err != nil {
			return usageError{err}
		}
		if n.Started, err = parseDay(started); err != nil {
			return err
		}
		n.State = args[0]
		about, options, err := chosen()
		if err != nil {
			return err
		}
		n.Measurement, n.Options = about.ID, options
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			if n.Setup.Instruments, err = shop.BenchInstruments(cmd.Context(), *instruments); err != nil {
				return err
			}
			files, err := givenFiles(args[1:], func() (int, error) { return parseChannel(channel) })
			if err != nil {
				return err
			}
			return importGiven(cmd, shop, n, about, files, o)
		})
	}
	return cmd
}

// importFiles stores files as runs, all or none, and says what was stored.
func importFiles(cmd *cobra.Command, shop *workshop.Shop, n workshop.NewRun, srcs []intake.Source, o intake.Override) error {
	if len(srcs) == 0 {
		return nil
	}
	bar := newProgress(cmd.ErrOrStderr(), "importing")
	all, err := shop.ImportAll(cmd.Context(), n, srcs, o, func(_ string, done, total int64) {
		if total > 0 {
			bar.set(float64(done) / float64(total))
		}
	})
	bar.done()
	if err != nil {
		return err
	}
	w := cmd.OutOrStdout()
	for i, got := range all {
		fmt.Fprintf(w, "%s: %d readings are in the book as run %s.\n", filepath.Base(srcs[i].Name), got.Report.Rows, got.Run.ID)
		printList(w, "How the file was read", got.Layout.Doubts())
		printList(w, "About the file", got.Report.Warnings)
	}
	return nil
}

func newRunShow() *cobra.Command {
	var asJSON bool
	var plot string
	cmd := &cobra.Command{Use: "show RUN", Short: "The figures of a run", Args: cobra.ExactArgs(1)}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	cmd.Flags().StringVar(&plot, "plot", "", "write the pictures to FILE.svg, .png or .pdf")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if err := checkPlotName(plot); err != nil {
			return err
		}
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			bar := newProgress(cmd.ErrOrStderr(), args[0])
			res, err := shop.Result(cmd.Context(), args[0], nil, bar.set)
			bar.done()
			if err != nil {
				return err
			}
			if plot != "" {
				if err := writePicture(plot, res.Analysis.Plots); err != nil {
					return err
				}
			}
			if asJSON {
				return printAnalysesJSON(cmd.OutOrStdout(), []workshop.FileAnalysis{{About: res.About, Analysis: res.Analysis}})
			}
			printAnalysis(cmd.OutOrStdout(), res.About, res.Analysis)
			return nil
		})
	}
	return cmd
}

func newRunAmend() *cobra.Command {
	var a run.Amendment
	var factor string
	cmd := &cobra.Command{
		Use:   "amend RUN strike|restore|scale|option|label|leave|take|note [WHAT]",
		Short: "A later note on a run; raw data never change",
		Example: `  setwright run amend turnstone-drift-2024-02-03 strike 12 --reason "knocked the bench"
  setwright run amend turnstone-drift-2024-02-03 scale frequency --factor 1000 --reason "readings are kHz"
  setwright run amend turnstone-drift-2024-02-03 option oscillator=local --reason "forgotten"
  setwright run amend turnstone-sensitivity-2024-02-03 label 2:input="-83 dBm" --reason "the pad was in"
  setwright run amend turnstone-sensitivity-2024-02-03 leave 3 --reason "a door slammed"`,
		Args: cobra.RangeArgs(2, 3),
	}
	cmd.Flags().StringVar(&a.Reason, "reason", "", "why, for the next reader")
	cmd.Flags().StringVar(&factor, "factor", "", "what a column is multiplied by (scale)")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		a.RunID, a.Kind = args[0], args[1]
		if err := amendWhat(&a, args[2:], factor); err != nil {
			return err
		}
		if a.Reason == "" {
			return usagef("run amend: say why with --reason, for the next reader")
		}
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			made, err := shop.Amend(cmd.Context(), a)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Noted as %s; the raw data stay as they are.\n", made.ID)
			return nil
		})
	}
	return cmd
}

// amendWhat reads the argument that an amendment of this kind takes.
func amendWhat(a *run.Amendment, args []string, factor string) error {
	what := ""
	if len(args) > 0 {
		what = args[0]
	}
	switch a.Kind {
	case run.AmendStrike, run.AmendRestore:
		n, err := strconv.Atoi(what)
		if err != nil || n < 1 {
			return usagef("%s %q: expected the number of a reading, from 1", a.Kind, what)
		}
		a.Row = n - 1
	case run.AmendScale:
		a.Role = what
		x, err := strconv.ParseFloat(factor, 64)
		if err != nil {
			return usagef("scale: expected --factor with a number, found %q", factor)
		}
		a.Factor = x
	case run.AmendOption:
		name, value, ok := strings.Cut(what, "=")
		if !ok {
			return usagef("option %q: expected NAME=VALUE", what)
		}
		a.Role, a.Text = name, value
	case run.AmendLeave, run.AmendTake:
		n, err := strconv.Atoi(what)
		if err != nil || n < 1 {
			return usagef("%s %q: expected the number of a recording, from 1", a.Kind, what)
		}
		a.Row = n - 1
	case run.AmendLabel:
		number, rest, _ := strings.Cut(what, ":")
		name, value, ok := strings.Cut(rest, "=")
		n, err := strconv.Atoi(number)
		if !ok || err != nil || n < 1 {
			return usagef("label %q: expected NUMBER:NAME=VALUE, for example 2:input=-83dBm", what)
		}
		a.Row, a.Role, a.Text = n-1, name, value
	case run.AmendNote:
		if a.Reason == "" {
			a.Reason = what
		}
	default:
		return usageError{errors.New("expected strike, restore, scale, option, label, leave, take or note, found " + strconv.Quote(a.Kind))}
	}
	return nil
}
