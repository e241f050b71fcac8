// Command setwright is the bench companion of people who restore, align,
// measure, modify and compare old valve communications receivers.
//
// What the user sees follows a few rules. The answer comes first, in plain
// sentences; then figures, each with its uncertainty; then what was set aside
// and why. Results go to standard output, everything else to standard error.
// With --json a command prints one JSON object and nothing else. Exit status:
// 0 done; 1 the data do not allow it, and the message says which file, line and
// column, what was found and what was expected; 2 the command was wrong.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"

	"github.com/spf13/cobra"
)

// The exit statuses.
const (
	exitDone  = 0
	exitData  = 1
	exitUsage = 2
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(Main(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// Main runs the program with the given arguments and returns the exit status.
// Tests call it as the binary does.
func Main(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitDone
	}
	if ctx.Err() != nil {
		err = errors.New("stopped; nothing was left half done")
	}
	fmt.Fprintln(stderr, "setwright:", err)
	var usage usageError
	if errors.As(err, &usage) || isUsage(err) {
		return exitUsage
	}
	return exitData
}

// usageError is a command that was wrong, as against data that are.
type usageError struct{ error }

func usagef(format string, args ...any) error {
	return usageError{fmt.Errorf(format, args...)}
}

// newRoot builds the command tree.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "setwright",
		Short: "Bench companion for people who restore and compare valve receivers",
		Long: `Setwright takes the readings of your bench, says what they prove and how surely,
and keeps them for the next owner.

Start with:
  setwright demo                          an invented museum's two sets, start to finish
  setwright analyse drift FILE            a log of an oscillator from cold
  setwright serve                         the pages, on this machine only`,
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			return cmd.Help()
		},
		Args: cobra.NoArgs,
	}
	root.PersistentFlags().String("book", "", "folder of the book (default: $SETWRIGHT_BOOK, else setwright-book here)")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.AddCommand(newAnalyse(), newSet(), newState(), newRun(), newModification(), newCompare(), newClaim(), newBench(), newAmount(), newReport(), newServe(), newDemo())
	return root
}
