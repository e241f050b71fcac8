package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/chart"
	"setwright/internal/measure"
	"setwright/internal/workshop"
)

// newAnalyse builds "analyse KIND FILE...": figures from files, nothing stored.
// Each measurement is a subcommand with its own options.
func newAnalyse(registry *measure.Registry) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "analyse KIND FILE...",
		Short: "Figures from log files and recordings; nothing is stored",
		Args: func(_ *cobra.Command, args []string) error {
			return usagef("expected a kind of measurement and files, for example: setwright analyse drift warmup.csv%s", kindsHint(args))
		},
		RunE: func(*cobra.Command, []string) error { return nil },
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
	sound := soundFlags(cmd, about)
	instruments := cmd.Flags().StringArray("instrument", nil, "ID of an instrument of the book's bench that was used")
	cmd.Flags().StringVar(&plot, "plot", "", "write the pictures to FILE.svg, .png or .pdf")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		o, err := over()
		if err != nil {
			return usageError{err}
		}
		if err := checkPlotName(plot, args...); err != nil {
			return err
		}
		given, err := options()
		if err != nil {
			return err
		}
		files, err := givenFiles(args, sound)
		if err != nil {
			return err
		}
		setup, err := benchSetup(cmd, *instruments)
		if err != nil {
			return err
		}
		work := analysing{cmd, workshop.New(nil, registry), about, o, given, setup}
		all, err := work.all(files)
		if err != nil {
			return err
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
	b.WriteString(soundHelp(about))
	b.WriteString("\nBefore you begin:\n")
	for _, c := range about.Cautions {
		fmt.Fprintf(&b, "  %s\n", wrap(c.Text, 88, "  "))
	}
	return b.String()
}

// checkPlotName refuses the name of a picture that could not be written,
// before any work is done. files are those that each get a picture.
func checkPlotName(name string, files ...string) error {
	if name == "" {
		return nil
	}
	if _, err := chart.FormatOf(name); err != nil {
		return usageError{err}
	}
	if info, err := os.Stat(filepath.Dir(name)); err != nil || !info.IsDir() {
		return usagef("--plot %s: there is no folder %s; make it first, or name another", name, filepath.Dir(name))
	}
	if len(files) > 1 && !strings.Contains(filepath.Base(name), "%") {
		return usagef("--plot %s for %d files: put a %% in the name, which becomes the name of each file", name, len(files))
	}
	of := map[string]string{}
	for _, file := range files {
		picture := plotName(name, file)
		if other, taken := of[picture]; taken {
			return usagef("--plot %s: the pictures of %s and %s would both be %s; analyse them one at a time", name, other, file, picture)
		}
		of[picture] = file
	}
	return nil
}

// writePlots writes the pictures of all analyses, or none.
func writePlots(name string, all []workshop.FileAnalysis) error {
	var files []outFile
	for _, a := range all {
		files = append(files, pictureFile(plotName(name, a.File), a.Analysis.Plots))
	}
	return writeWhole(files...)
}

// plotName is the name of the picture of a file.
func plotName(name, file string) string {
	folder, last := filepath.Split(name)
	return folder + strings.ReplaceAll(last, "%", strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)))
}

func writePicture(name string, plots []measure.Plot) error {
	return writeWhole(pictureFile(name, plots))
}

// pictureFile is a picture to be written; its name was checked by
// checkPlotName.
func pictureFile(name string, plots []measure.Plot) outFile {
	return outFile{name, func(w io.Writer) error {
		format, err := chart.FormatOf(name)
		if err != nil {
			return err
		}
		return chart.File(plots, format, w)
	}}
}
