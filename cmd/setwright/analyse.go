package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/chart"
	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/measure/list"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// newAnalyse builds "analyse KIND FILE...": figures from files, nothing stored.
// Each measurement is a subcommand with its own options.
func newAnalyse() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "analyse KIND FILE...",
		Short: "Figures from log files; nothing is stored",
		Args: func(_ *cobra.Command, args []string) error {
			return usagef("expected a kind of measurement and files, for example: setwright analyse drift warmup.csv%s", kindsHint(args))
		},
		RunE: func(*cobra.Command, []string) error { return nil },
	}
	registry, err := list.Registry()
	if err != nil {
		panic("setwright: " + err.Error()) // two measurements of one id: a fault of the program
	}
	for _, id := range registry.IDs() {
		m, err := registry.Get(id)
		if err != nil {
			continue
		}
		cmd.AddCommand(newAnalyseKind(registry, m.About()))
	}
	return cmd
}

// kindsHint lists the kinds when another word was given.
func kindsHint(args []string) string {
	if len(args) == 0 {
		return ""
	}
	return fmt.Sprintf("; %q is no kind of measurement", args[0])
}

// newAnalyseKind builds the subcommand of one measurement.
func newAnalyseKind(registry *measure.Registry, about measure.About) *cobra.Command {
	var plot string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   about.ID + " FILE...",
		Short: about.Title + ": " + about.Purpose,
		Long:  analyseHelp(about),
		Args:  cobra.MinimumNArgs(1),
	}
	options := optionFlags(cmd, about)
	over := overrideFlags(cmd)
	cmd.Flags().StringVar(&plot, "plot", "", "write the pictures to FILE.svg, .png or .pdf")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		o, err := over()
		if err != nil {
			return usageError{err}
		}
		if err := checkPlotName(plot, len(args)); err != nil {
			return err
		}
		given, err := options()
		if err != nil {
			return err
		}
		shop := workshop.New(nil, registry)
		var all []workshop.FileAnalysis
		for _, name := range args {
			a, err := analyseFile(cmd, shop, about.ID, name, o, given)
			if err != nil {
				return err
			}
			all = append(all, a)
		}
		if plot != "" {
			if err := writePlots(plot, all); err != nil {
				return err
			}
		}
		if asJSON {
			return printAnalysesJSON(cmd.OutOrStdout(), all)
		}
		return printAnalyses(cmd.OutOrStdout(), all)
	}
	return cmd
}

func analyseHelp(about measure.About) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s. %s\n\nReads logs as people keep them: separators, decimal signs, units and forms of time are\nrecognised, shown, and can be put right by options. Nothing is stored.\n", about.Title, about.Purpose)
	b.WriteString("\nBefore you begin:\n")
	for _, c := range about.Cautions {
		fmt.Fprintf(&b, "  %s\n", wrap(c.Text, 88, "  "))
	}
	return b.String()
}

// analyseFile analyses one file, with progress where a person watches.
func analyseFile(cmd *cobra.Command, shop *workshop.Shop, kind, name string, over intake.Override, options map[string]string) (workshop.FileAnalysis, error) {
	src, err := intake.FileSource(name)
	if err != nil {
		return workshop.FileAnalysis{}, err
	}
	bar := newProgress(cmd.ErrOrStderr(), filepath.Base(name))
	defer bar.done()
	return shop.AnalyseFile(cmd.Context(), kind, src, over, options, run.Setup{}, bar.set)
}

// checkPlotName refuses a picture file that could not be written, before any
// work is done.
func checkPlotName(name string, files int) error {
	if name == "" {
		return nil
	}
	if _, err := chart.FormatOf(name); err != nil {
		return usageError{err}
	}
	if files > 1 && !strings.Contains(name, "%") {
		return usagef("--plot %s for %d files: put a %% in the name, which becomes the name of each file", name, files)
	}
	return nil
}

// writePlots writes the pictures of each analysis. A file is written whole or
// not at all.
func writePlots(name string, all []workshop.FileAnalysis) error {
	for _, a := range all {
		base := strings.TrimSuffix(filepath.Base(a.File), filepath.Ext(a.File))
		if err := writePicture(strings.ReplaceAll(name, "%", base), a.Analysis.Plots); err != nil {
			return err
		}
	}
	return nil
}

func writePicture(name string, plots []measure.Plot) error {
	format, err := chart.FormatOf(name)
	if err != nil {
		return usageError{err}
	}
	return writeWhole(name, func(w io.Writer) error { return chart.File(plots, format, w) })
}

// writeWhole writes a file under a temporary name and renames it, so that a
// full disk leaves no half of it behind.
func writeWhole(name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	tmp, err := os.CreateTemp(filepath.Dir(name), ".setwright-*")
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(b.Bytes())
	if e := tmp.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Chmod(tmp.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(tmp.Name(), name)
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	return nil
}
