package main

import (
	"cmp"

	"github.com/spf13/cobra"

	"setwright/internal/workshop"
)

// newAmount builds "amount": the differences that matter in this book.
func newAmount() *cobra.Command {
	cmd := &cobra.Command{
		Use: "amount", Short: "The differences that matter, with their reasons", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withShop(cmd, false, func(shop *workshop.Shop) error {
				all, err := shop.Amounts(cmd.Context())
				if err != nil {
					return err
				}
				rows := [][]string{{"figure", "matters from", "because"}}
				for _, a := range all {
					rows = append(rows, []string{a.Figure.ID, cmp.Or(a.Text(), "not judged"), a.Why})
				}
				printTable(cmd.OutOrStdout(), rows)
				return nil
			})
		},
	}
	cmd.AddCommand(newAmountSet())
	return cmd
}

func newAmountSet() *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use: "set FIGURE [AMOUNT]", Short: "Change the difference that matters; without an amount, back to the default",
		Example: `  setwright amount set excursion "200 Hz" --because "only broadcast listening here"`,
		Args:    cobra.RangeArgs(1, 2),
	}
	cmd.Flags().StringVar(&why, "because", "", "the reason, shown beside every verdict")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		text := ""
		if len(args) == 2 {
			text = args[1]
		}
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			return shop.SetAmount(cmd.Context(), args[0], text, why)
		})
	}
	return cmd
}
