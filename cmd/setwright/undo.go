package main

import (
	"fmt"
	"io"
	"strconv"

	"github.com/spf13/cobra"

	"setwright/internal/workshop"
)

// newSetChanges builds "set changes": what was changed, to be put back.
func newSetChanges() *cobra.Command {
	var back string
	cmd := &cobra.Command{
		Use:     "changes SET",
		Short:   "What was changed about a set, the newest first; put a change back",
		Example: "  setwright set changes turnstone\n  setwright set changes turnstone --put-back 12",
		Args:    cobra.ExactArgs(1),
	}
	cmd.Flags().StringVar(&back, "put-back", "", "number of the change to undo; that can be undone as well")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			if back != "" {
				n, err := strconv.ParseInt(back, 10, 64)
				if err != nil {
					return usagef("--put-back %q: expected the number of a change, as the list shows it", back)
				}
				if err := shop.PutBack(cmd.Context(), n); err != nil {
					return err
				}
			}
			target, err := shop.Find(cmd.Context(), args[0])
			if err != nil {
				return err
			}
			return printChanges(cmd, shop, target.Set.ID)
		})
	}
	return cmd
}

// changesShown is how many changes are listed.
const changesShown = 30

func printChanges(cmd *cobra.Command, shop *workshop.Shop, setID string) error {
	changes, err := shop.History(cmd.Context(), setID, changesShown)
	if err != nil {
		return err
	}
	if len(changes) == 0 {
		fmt.Fprintln(cmd.OutOrStdout(), "Nothing was changed yet.")
		return nil
	}
	rows := [][]string{{"change", "when", "what", "why"}}
	for _, c := range changes {
		what := c.What
		if c.Gone {
			what += ", taken away"
		}
		rows = append(rows, []string{fmt.Sprint(c.ID), c.Made.Format("2006-01-02 15:04"), what, c.Reason})
	}
	printTable(cmd.OutOrStdout(), rows)
	return nil
}

// newRunHide builds "run hide": runs are never thrown away.
func newRunHide() *cobra.Command {
	var reason string
	cmd := &cobra.Command{
		Use: "hide RUN", Short: "Leave a run out of everything, with the reason; \"run unhide\" brings it back", Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if reason == "" {
				return usagef("run hide: say why with --reason, for the next reader")
			}
			return withShop(cmd, false, func(shop *workshop.Shop) error { return shop.HideRun(cmd.Context(), args[0], reason) })
		},
	}
	cmd.Flags().StringVar(&reason, "reason", "", "why")
	return cmd
}

func newRunUnhide() *cobra.Command {
	return &cobra.Command{
		Use: "unhide RUN", Short: "Bring a hidden run back", Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withShop(cmd, false, func(shop *workshop.Shop) error { return shop.ShowRun(cmd.Context(), args[0]) })
		},
	}
}

// newRunRaw builds "run raw": the readings as they came in.
func newRunRaw() *cobra.Command {
	var out string
	var table bool
	var recording int
	cmd := &cobra.Command{
		Use: "raw RUN", Short: "The log or recording of a run as it was given, byte for byte, or its readings as CSV", Args: cobra.ExactArgs(1),
	}
	cmd.Flags().StringVarP(&out, "output", "o", "", "file to write (default: standard output)")
	cmd.Flags().BoolVar(&table, "csv", false, "the readings as CSV in base units, struck ones marked")
	cmd.Flags().IntVar(&recording, "recording", 0, "which recording, from 1, of a run that has several")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			return writeTo(cmd, out, func(w io.Writer) error {
				if table {
					return shop.WriteReadings(cmd.Context(), args[0], w)
				}
				open := func() (io.ReadCloser, string, error) { return shop.RawFile(cmd.Context(), args[0]) }
				if cmd.Flags().Changed("recording") {
					open = func() (io.ReadCloser, string, error) { return shop.RecordingFile(cmd.Context(), args[0], recording-1) }
				}
				f, _, err := open()
				if err != nil {
					return err
				}
				defer f.Close()
				_, err = io.Copy(w, f)
				return err
			})
		})
	}
	return cmd
}
