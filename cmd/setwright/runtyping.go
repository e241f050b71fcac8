package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/measure"
	"setwright/internal/workshop"
	"setwright/quantity"
)

func newRunType(registry *measure.Registry) *cobra.Command {
	var n workshop.NewRun
	var unit string
	cmd := &cobra.Command{
		Use: "type STATE", Short: "Type readings, one a line, as you take them",
		Long: `Each line is a reading; its time is stamped from the moment the command starts,
which is taken as power-on. "10 min: 7065.3" gives the time itself. Where a row has
several columns they are parted by semicolons: "-97 dBm; 0.52; 0.18". A line with x
alone strikes out the last reading. An empty line or end of input finishes.`,
		Args: cobra.ExactArgs(1),
	}
	chosen := measurementFlags(cmd, registry)
	cmd.Flags().StringVar(&unit, "unit", "", "unit of a bare number (default kHz for frequencies, else the column's)")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		about, options, err := chosen()
		if err != nil {
			return err
		}
		n.State, n.Measurement, n.Options = args[0], about.ID, options
		if unit, err = typedUnit(about, unit); err != nil {
			return err
		}
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			r, err := shop.StartTyping(cmd.Context(), n, unit)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Run %s, power-on now. %s in %s; x strikes out the last; an empty line finishes.\n", r.ID, rowTitle(about), unit)
			if err := typeLines(cmd, shop, r.ID); err != nil {
				return err
			}
			return finishTyping(cmd, shop, r.ID)
		})
	}
	return cmd
}

// typedUnit is the unit of bare readings in the first column of a row: the one
// given, else kHz for frequencies and the column's own for all else. One in
// which that column cannot be is refused.
func typedUnit(about measure.About, given string) (string, error) {
	columns := about.TypedColumns()
	switch {
	case len(columns) == 0:
		return "", usagef("%s takes no typed readings", about.Title)
	case given == "" && columns[0].Unit == "Hz":
		return "kHz", nil
	case given == "":
		return columns[0].Unit, nil
	}
	for _, base := range columns[0].BaseUnits() {
		if _, err := quantity.Convert(1, given, base); err == nil {
			return given, nil
		}
	}
	return "", usagef("--unit %q: expected the unit of the readings, for example kHz", given)
}

// rowTitle names what is typed in a row.
func rowTitle(about measure.About) string {
	columns := about.TypedColumns()
	if len(columns) < 2 {
		return "Readings"
	}
	return "Rows of " + workshop.RowWords(columns) + ", bare numbers of the first"
}

// typeLines takes readings from standard input until an empty line, its end or
// Ctrl-C. Each is in the book before the next is asked for.
func typeLines(cmd *cobra.Command, shop *workshop.Shop, runID string) error {
	lines := linesOf(cmd.InOrStdin())
	for {
		select {
		case <-cmd.Context().Done():
			return nil
		case line, more := <-lines:
			text := strings.TrimSpace(line.text)
			if !more || line.err != nil || text == "" {
				return line.err
			}
			takeLine(cmd, shop, runID, text)
		}
	}
}

// typedLine is a line of standard input, or why there is none.
type typedLine struct {
	text string
	err  error
}

// linesOf reads lines beside the program, which can be stopped meanwhile.
func linesOf(r io.Reader) <-chan typedLine {
	out := make(chan typedLine)
	go func() {
		defer close(out)
		lines := bufio.NewScanner(r)
		for lines.Scan() {
			out <- typedLine{text: lines.Text()}
		}
		if err := lines.Err(); err != nil {
			out <- typedLine{err: fmt.Errorf("standard input: %w", err)}
		}
	}()
	return out
}

// takeLine takes one typed line and answers it.
func takeLine(cmd *cobra.Command, shop *workshop.Shop, runID, text string) {
	w := cmd.OutOrStdout()
	if text == "x" {
		t, err := shop.StrikeLast(cmd.Context(), runID)
		if err != nil {
			fmt.Fprintln(w, "  ", err)
			return
		}
		fmt.Fprintf(w, "   struck out: %s\n", t.Text)
		return
	}
	t, err := shop.TypeReading(cmd.Context(), runID, text)
	if err != nil {
		fmt.Fprintln(w, "   not taken:", err)
		return
	}
	fmt.Fprintf(w, "   %d. %.0f s  %s\n", t.Row+1, t.TimeS, t.Text)
}

// finishTyping closes the run, also after Ctrl-C. One without any reading is
// put out of sight.
func finishTyping(cmd *cobra.Command, shop *workshop.Shop, runID string) error {
	n, err := shop.FinishTyping(context.WithoutCancel(cmd.Context()), runID)
	if err != nil {
		return err
	}
	if n == 0 {
		fmt.Fprintf(cmd.OutOrStdout(), "No reading was typed: run %s is hidden.\n", runID)
		return nil
	}
	plural := "s are"
	if n == 1 {
		plural = " is"
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%d reading%s in the book as run %s.\n", n, plural, runID)
	return nil
}
