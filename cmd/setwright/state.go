package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"setwright/internal/receiver"
	"setwright/internal/workshop"
)

// newState builds "state": how a set is built, and from when.
func newState() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "state",
		Short: "Say how a set is built, and from when",
		Long: `A configuration is how a set is built: which modifications are in. A state is a
configuration from a date on. Any electrical change starts a new state; when a
set comes back to an earlier configuration, that is a new state of the old one.`,
	}
	cmd.AddCommand(newConfigurationAdd(), newStateAdd())
	return cmd
}

func newConfigurationAdd() *cobra.Command {
	var c receiver.Configuration
	var from, alignment string
	cmd := &cobra.Command{
		Use:     "configure SET NAME",
		Short:   "A new way in which the set is built, and its first state",
		Example: `  setwright state configure turnstone "pair fitted" --with turnstone/compensating-pair --from 2024-03-01`,
		Args:    cobra.ExactArgs(2),
	}
	cmd.Flags().StringArrayVar(&c.Modifications, "with", nil, "a modification that is in, once for each")
	cmd.Flags().StringVar(&c.Parts, "parts", "", "parts replaced, in words")
	cmd.Flags().StringVar(&from, "from", "", "date from which it is built so (default: now)")
	cmd.Flags().StringVar(&alignment, "alignment", "", "when and how it was aligned")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		day, err := parseDay(from)
		if err != nil {
			return err
		}
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			target, err := shop.Find(cmd.Context(), args[0])
			if err != nil {
				return err
			}
			c.SetID, c.Name = target.Set.ID, args[1]
			if c.Modifications, err = modificationIDs(cmd, shop, c.Modifications); err != nil {
				return err
			}
			made, err := shop.Configure(cmd.Context(), c, receiver.State{From: day, Alignment: alignment})
			if err != nil {
				return err
			}
			printState(cmd, made)
			return nil
		})
	}
	return cmd
}

// modificationIDs resolves the names given on the command line.
func modificationIDs(cmd *cobra.Command, shop *workshop.Shop, names []string) ([]string, error) {
	var out []string
	for _, name := range names {
		m, err := shop.FindModification(cmd.Context(), name)
		if err != nil {
			return nil, err
		}
		out = append(out, m.ID)
	}
	return out, nil
}

func newStateAdd() *cobra.Command {
	var st receiver.State
	var from string
	cmd := &cobra.Command{
		Use:   "add CONFIGURATION",
		Short: "A new state of a configuration the set has had before",
		Args:  cobra.ExactArgs(1),
	}
	cmd.Flags().StringVar(&from, "from", "", "date from which it holds (default: now)")
	cmd.Flags().StringVar(&st.Name, "name", "", "name of the state (default: the configuration's)")
	cmd.Flags().StringVar(&st.Alignment, "alignment", "", "when and how it was aligned")
	cmd.Flags().StringVar(&st.Notes, "notes", "", "anything the next owner should know")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		day, err := parseDay(from)
		if err != nil {
			return err
		}
		st.From = day
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			target, err := shop.Find(cmd.Context(), args[0])
			if err != nil {
				return err
			}
			if target.Kind == workshop.IsSet || len(target.States) == 0 {
				return usagef("%q is not a configuration: name one, for example %s/as-found", args[0], target.Set.ID)
			}
			st.ConfigurationID = target.States[0].ConfigurationID
			return addState(cmd, shop, st)
		})
	}
	return cmd
}

func addState(cmd *cobra.Command, shop *workshop.Shop, st receiver.State) error {
	made, err := shop.AddState(cmd.Context(), st)
	if err != nil {
		return err
	}
	printState(cmd, made)
	return nil
}

func printState(cmd *cobra.Command, made receiver.State) {
	fmt.Fprintf(cmd.OutOrStdout(), "%s, from %s: %s\n", made.Name, made.From.Format("2 January 2006"), made.ID)
}
