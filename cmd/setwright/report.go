package main

import (
	"io"

	"github.com/spf13/cobra"

	"setwright/internal/report"
	"setwright/internal/workshop"
)

// newReport builds "report SET": the printed record.
func newReport() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "report SET",
		Short: "The printed record of a set, as one HTML file that prints well",
		Args:  cobra.ExactArgs(1),
	}
	cmd.Flags().StringVarP(&out, "output", "o", "", "file to write (default: standard output)")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			target, err := shop.Find(cmd.Context(), args[0])
			if err != nil {
				return err
			}
			bar := newProgress(cmd.ErrOrStderr(), target.Set.Name)
			rec, err := shop.Record(cmd.Context(), target.Set.ID, bar.set)
			bar.done()
			if err != nil {
				return err
			}
			return writeTo(cmd, out, func(w io.Writer) error { return report.Record(w, rec) })
		})
	}
	return cmd
}

// newBenchCard builds "bench card KIND": a card with blanks.
func newBenchCard() *cobra.Command {
	var out, state string
	cmd := &cobra.Command{
		Use:   "card KIND",
		Short: "A bench card with blanks, as one HTML file to print",
		Args:  cobra.ExactArgs(1),
	}
	cmd.Flags().StringVarP(&out, "output", "o", "", "file to write (default: standard output)")
	cmd.Flags().StringVar(&state, "state", "", "set or state whose name is printed on it")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := aboutOf(args[0]); err != nil {
			return err
		}
		return withOrWithoutBook(cmd, state != "", func(shop *workshop.Shop) error {
			card, err := shop.BenchCard(cmd.Context(), args[0], state)
			if err != nil {
				return err
			}
			return writeTo(cmd, out, func(w io.Writer) error { return report.Card(w, card) })
		})
	}
	return cmd
}
