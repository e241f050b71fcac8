package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/workshop"
)

// newCompare builds "compare A B".
func newCompare() *cobra.Command {
	var asJSON bool
	var plot string
	var o workshop.CompareOptions
	var options []string
	cmd := &cobra.Command{
		Use:   "compare A B",
		Short: "Judge B against A: two states, configurations or sets",
		Long: `A and B are sets, configurations or states. Says first whether the runs were made
under conditions that allow a comparison; then, for each figure, the verdict: better,
worse, no difference that matters, or cannot tell yet, and how many more runs would
decide it.`,
		Example: `  setwright compare turnstone/as-found turnstone/pair-fitted
  setwright compare turnstone whimbrel --pair-days`,
		Args: cobra.ExactArgs(2),
	}
	f := cmd.Flags()
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	f.StringVar(&plot, "plot", "", "write the overlaid picture to FILE.svg, .png or .pdf")
	f.StringArrayVar(&o.Figures, "figure", nil, "only this figure, once for each")
	f.BoolVar(&o.PairByDay, "pair-days", false, "the runs of one day belong together (two sets side by side)")
	f.StringVar(&o.Measurement, "measurement", "", "which measurement, where there are several")
	f.StringArrayVar(&options, "option", nil, "evaluate every run with NAME=VALUE")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if err := checkPlotName(plot); err != nil {
			return err
		}
		var err error
		if o.Measurement != "" {
			if _, err := aboutOf(o.Measurement); err != nil {
				return err
			}
		}
		if o.Options, err = pairs("--option", options); err != nil {
			return err
		}
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			bar := newProgress(cmd.ErrOrStderr(), "comparing")
			o.Progress = bar.set
			c, err := shop.Compare(cmd.Context(), args[0], args[1], o)
			bar.done()
			if err != nil {
				return err
			}
			if plot != "" {
				if err := writePicture(plot, c.Plots); err != nil {
					return err
				}
			}
			if asJSON {
				return printJSON(cmd.OutOrStdout(), c.Document())
			}
			printComparison(cmd.OutOrStdout(), c)
			return nil
		})
	}
	return cmd
}

// printComparison prints fairness first, then the answer, then the table and
// what each uncertainty is made of.
func printComparison(w io.Writer, c workshop.Comparison) {
	printFairness(w, c)
	for _, s := range c.Sentences {
		fmt.Fprintln(w, wrap(s, 92, "  "))
	}
	if c.Fairness.Blocked {
		return
	}
	fmt.Fprintln(w)
	rows := [][]string{{"figure", "A", "B", "B less A", "verdict"}}
	for _, row := range c.Rows {
		v := row.Verdict
		rows = append(rows, []string{
			workshop.FigureTitle(row.Spec, row.Conditions), printer.Outcome(v.AForm, v.Unit), printer.Outcome(v.BForm, v.Unit),
			printer.Outcome(v.DifferenceForm, v.Unit), string(v.Word),
		})
	}
	printTable(w, rows)
	fmt.Fprintf(w, "\nA: %s, %s. B: %s, %s.%s\n", c.A.Name, runs(len(c.A.Results)), c.B.Name, runs(len(c.B.Results)), appliedWords(c))
	printBudgets(w, c)
	printList(w, "Warnings", c.Warnings)
	printList(w, "Notes", c.Notes)
}

func appliedWords(c workshop.Comparison) string {
	parts := c.AppliedWords()
	if len(parts) == 0 {
		return ""
	}
	return " Of every run: " + strings.Join(parts, ", ") + "."
}

func printFairness(w io.Writer, c workshop.Comparison) {
	for _, f := range c.Fairness.Findings {
		mark := "Note"
		if f.Blocks {
			mark = "Not comparable"
		}
		fmt.Fprintln(w, wrap(mark+": "+f.Text, 92, "  "))
	}
	if len(c.Fairness.Findings) > 0 {
		fmt.Fprintln(w)
	}
}

// printBudgets prints what each difference's uncertainty is made of, what was
// shared and cancelled, and the reasons of the verdict.
func printBudgets(w io.Writer, c workshop.Comparison) {
	for _, row := range c.Rows {
		v := row.Verdict
		fmt.Fprintf(w, "\n%s: %s\n", workshop.FigureTitle(row.Spec, row.Conditions), v.Word)
		for _, r := range v.Reasons {
			fmt.Fprintf(w, "  %s\n", wrap(r, 90, "  "))
		}
		for _, b := range v.Budget {
			if b.Share < 0.0005 {
				fmt.Fprintf(w, "  under 0.1 %%  %s\n", b.Name)
				continue
			}
			fmt.Fprintf(w, "  %5.1f %%  %s  %s\n", 100*b.Share, printer.Told(math.Abs(b.C), v.Unit, 3), b.Name)
		}
		for _, e := range v.Cancelled() {
			fmt.Fprintf(w, "   gone    shared by both sides, cancels: %s\n", e.Name)
		}
		for _, a := range v.Apart {
			fmt.Fprintf(w, "  stands apart on side %s: %s\n", a.Side, firstNonEmpty(a.Label, a.Run))
		}
	}
}

// runs counts runs.
func runs(n int) string {
	if n == 1 {
		return "one run"
	}
	return fmt.Sprintf("%d runs", n)
}
