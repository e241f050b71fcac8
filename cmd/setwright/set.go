package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/receiver"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// newSet builds "set": take in sets and look at them.
func newSet() *cobra.Command {
	cmd := &cobra.Command{Use: "set", Short: "Take in a set, list the shelf, show one"}
	cmd.AddCommand(newSetAdd(), newSetList(), newSetShow(), newSetChanges())
	return cmd
}

func newSetAdd() *cobra.Command {
	var s receiver.Set
	var ifText, found string
	var bands, stages []string
	cmd := &cobra.Command{
		Use:     "add NAME",
		Short:   "Take in a set; its first state is \"as found\"",
		Example: `  setwright set add Turnstone --if "612 kHz" --band "D=3.1 MHz..8.6 MHz" --stage "V3=local oscillator=6J5"`,
		Args:    cobra.ExactArgs(1),
	}
	f := cmd.Flags()
	f.StringVar(&s.Serial, "serial", "", "serial number or museum number")
	f.StringVar(&s.Kind, "kind", "", "what it is, in words")
	f.StringVar(&s.Origin, "origin", "", "where it came from")
	f.StringVar(&s.AsFound, "as-found", "", "how it was found")
	f.StringVar(&ifText, "if", "", "nominal intermediate frequency")
	f.StringVar(&found, "found", "", "date it came in (default: now)")
	f.StringArrayVar(&bands, "band", nil, "NAME=LOW..HIGH, once for each band")
	f.StringArrayVar(&stages, "stage", nil, "POSITION=DUTY=VALVE, once for each stage")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		s.Name = args[0]
		day, err := parseDay(found)
		if err != nil {
			return err
		}
		if ifText != "" {
			if s.IFHz, err = flagNumber("--if", ifText, "Hz"); err != nil {
				return err
			}
		}
		if s.Bands, err = parsed(bands, workshop.ParseBand); err != nil {
			return err
		}
		if s.Stages, err = parsed(stages, workshop.ParseStage); err != nil {
			return err
		}
		return withShop(cmd, true, func(shop *workshop.Shop) error {
			set, err := shop.AddSet(cmd.Context(), s, day)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s is in the book as %q, in its first state \"as found\".\n", set.Name, set.ID)
			return nil
		})
	}
	return cmd
}

// parsed reads each text of a flag that may be given several times.
func parsed[T any](texts []string, parse func(string) (T, error)) ([]T, error) {
	var out []T
	for _, text := range texts {
		v, err := parse(text)
		if err != nil {
			return nil, usageError{err}
		}
		out = append(out, v)
	}
	return out, nil
}

func newSetList() *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "The sets on the shelf", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withShop(cmd, false, func(shop *workshop.Shop) error {
				shelf, err := shop.Shelf(cmd.Context())
				if err != nil {
					return err
				}
				if len(shelf) == 0 {
					fmt.Fprintln(cmd.OutOrStdout(), "No set yet. Take one in with: setwright set add NAME")
					return nil
				}
				rows := [][]string{{"set", "name", "present state", "states", "runs", "modifications"}}
				for _, s := range shelf {
					rows = append(rows, []string{s.Set.ID, s.Set.Name, s.State.Name, fmt.Sprint(s.States), fmt.Sprint(s.Runs), fmt.Sprint(s.Modifications)})
				}
				printTable(cmd.OutOrStdout(), rows)
				return nil
			})
		},
	}
}

func newSetShow() *cobra.Command {
	return &cobra.Command{
		Use: "show SET", Short: "A set with its states, runs and modifications", Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withShop(cmd, false, func(shop *workshop.Shop) error {
				target, err := shop.Find(cmd.Context(), args[0])
				if err != nil {
					return err
				}
				view, err := shop.SetView(cmd.Context(), target.Set.ID, true)
				if err != nil {
					return err
				}
				printSet(cmd, view)
				return nil
			})
		},
	}
}

func printSet(cmd *cobra.Command, v workshop.SetView) {
	w := cmd.OutOrStdout()
	fmt.Fprintf(w, "%s  (%s)\n", v.Set.Name, strings.Join(nonEmpty(v.Set.ID, v.Set.Serial, v.Set.Kind), ", "))
	if v.Set.IFHz > 0 {
		fmt.Fprintf(w, "intermediate frequency %s\n", quantity.FormatNumber(v.Set.IFHz, "Hz"))
	}
	if v.Set.AsFound != "" {
		fmt.Fprintf(w, "as found: %s\n", wrap(v.Set.AsFound, 90, "  "))
	}
	for _, st := range v.States {
		fmt.Fprintf(w, "\n%s, from %s  (%s)\n", st.State.Name, st.State.From.Format("2 January 2006"), st.State.ID)
		if len(st.Runs) == 0 {
			fmt.Fprintln(w, "  no runs yet")
		}
		for _, r := range st.Runs {
			fmt.Fprintf(w, "  %s  %s\n", r.Run.ID, wrap(firstNonEmpty(r.Sentence, r.Refused, fmt.Sprintf("%d readings so far", r.Readings)), 88, "    "))
		}
	}
	for _, m := range v.Modifications {
		fmt.Fprintf(w, "\nmodification: %s  (%s)\n", m.Modification.Title, m.Modification.ID)
		for _, c := range m.Modification.Claims {
			fmt.Fprintf(w, "  said: %s  (%s)\n", c.Words, c.ID)
		}
	}
}

func nonEmpty(parts ...string) []string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return out
}

func firstNonEmpty(parts ...string) string {
	for _, p := range parts {
		if p != "" {
			return p
		}
	}
	return ""
}
