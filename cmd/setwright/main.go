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
	"io/fs"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"setwright/internal/measure/list"
)

// The exit statuses.
const (
	exitDone  = 0
	exitData  = 1
	exitUsage = 2
)

func main() {
	signal.Ignore(syscall.SIGPIPE) // a reader that left is told by the write that fails
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program at once
	os.Exit(Main(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// Main runs the program with the given arguments and returns the exit status.
// Tests call it as the binary does.
func Main(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	working, stop := context.WithCancel(ctx)
	defer stop()
	out := &watched{w: stdout, stop: stop}
	root := newRoot()
	root.SetArgs(signed(args))
	root.SetIn(stdin)
	root.SetOut(out)
	root.SetErr(stderr)
	err := root.ExecuteContext(working)
	switch {
	case out.readerLeft():
		return exitData
	case out.err != nil:
		err = fmt.Errorf("the result could not be written to the end: %w", innermost(out.err))
	case err == nil:
		return exitDone
	case ctx.Err() != nil:
		err = errors.New("stopped; nothing was left half done")
	}
	fmt.Fprintln(stderr, "setwright:", err)
	if isUsage(err) {
		return exitUsage
	}
	return exitData
}

// innermost is what the system said, without the name of the stream.
func innermost(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// newRoot builds the command tree.
func newRoot() *cobra.Command {
	registry, err := list.Registry()
	if err != nil {
		panic("setwright: " + err.Error()) // two measurements of one id: a fault of the program
	}
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
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(newAnalyse(registry), newSet(), newState(), newRun(registry), newModification(), newCompare(), newClaim(), newBench(registry), newAmount(), newReport(), newServe(), newDemo(), newCompute())
	plainWords(root)
	return root
}
