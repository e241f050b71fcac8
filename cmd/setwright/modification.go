package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/receiver"
	"setwright/internal/workshop"
)

// newModification builds "modification": what was done to a set and what that
// is said to do.
func newModification() *cobra.Command {
	cmd := &cobra.Command{Use: "modification", Short: "Changes to the circuit and what is claimed for them"}
	cmd.AddCommand(newModificationAdd(), newModificationFound(), newClaimAdd())
	return cmd
}

func newModificationAdd() *cobra.Command {
	var m receiver.Modification
	cmd := &cobra.Command{
		Use: "add SET TITLE", Short: "Add a modification to a set", Args: cobra.ExactArgs(2),
		Example: `  setwright modification add turnstone "compensating pair" --acts-on "local oscillator" --undo "remove both, refit C41 from bag 7"`,
	}
	f := cmd.Flags()
	f.StringArrayVar(&m.ActsOn, "acts-on", nil, "what it acts on, once for each")
	f.StringVar(&m.LookFor, "look-for", "", "what gives it away")
	f.StringVar(&m.Undo, "undo", "", "how it is undone")
	f.StringVar(&m.Source, "source", "", "where it was found or described")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			target, err := shop.Find(cmd.Context(), args[0])
			if err != nil {
				return err
			}
			m.SetID, m.Title = target.Set.ID, args[1]
			made, err := shop.AddModification(cmd.Context(), m)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s is in the book as %q.\n", made.Title, made.ID)
			return nil
		})
	}
	return cmd
}

func newClaimAdd() *cobra.Command {
	var c receiver.Claim
	var where []string
	cmd := &cobra.Command{
		Use:   "claim MODIFICATION FIGURE smaller|larger|unchanged [AMOUNT]",
		Short: "Add what a modification is said to do",
		Long: `AMOUNT is a share of the value before ("1/3", "33 %") or an amount in the figure's
unit ("500 Hz"). Without one only the direction is claimed.`,
		Example: `  setwright modification claim compensating-pair settling_time smaller 1/3 --where band_hz=100 --source "club sheet 12"`,
		Args:    cobra.RangeArgs(3, 4),
	}
	cmd.Flags().StringArrayVar(&where, "where", nil, "which figure is meant, NAME=VALUE")
	cmd.Flags().StringVar(&c.Words, "words", "", "the claim as its source puts it")
	cmd.Flags().StringVar(&c.Source, "source", "", "who says so")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		var err error
		if c.Conditions, err = pairs("--where", where); err != nil {
			return err
		}
		c.Figure, c.Direction = args[1], receiver.Direction(args[2])
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			if len(args) == 4 {
				spec, _, _ := shop.Registry.Figure(c.Figure)
				if c.Amount, c.Relative, err = workshop.ParseAmount(args[3], spec.Unit); err != nil {
					return usageError{err}
				}
			}
			made, err := shop.AddClaim(cmd.Context(), args[0], c)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: %s\n", made.ID, made.Words)
			return nil
		})
	}
	return cmd
}

func newModificationFound() *cobra.Command {
	return &cobra.Command{
		Use:     "found MODIFICATION CONFIGURATION",
		Short:   "Note that a modification is in a configuration: earlier work that came to light",
		Example: "  setwright modification found brass-can-over-v3 turnstone/as-found",
		Args:    cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withShop(cmd, false, func(shop *workshop.Shop) error {
				c, err := shop.MarkFound(cmd.Context(), args[0], args[1])
				if err != nil {
					return err
				}
				fmt.Fprintf(cmd.OutOrStdout(), "%s now has %s in.\n", c.Name, strings.Join(c.Modifications, ", "))
				return nil
			})
		},
	}
}
