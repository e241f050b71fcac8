package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/quantity"
)

// usageError is a command that was wrong, as against data that are.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

func usagef(format string, args ...any) error {
	return usageError{fmt.Errorf(format, args...)}
}

// isUsage says whether it was the command that was wrong: an option, an
// argument or a number as it was typed, or what cobra says of commands, which
// carries no type.
func isUsage(err error) bool {
	var usage usageError
	var override *intake.OverrideError
	var option *measure.OptionError
	var typed *quantity.ParseError
	return errors.As(err, &usage) || errors.As(err, &override) || errors.As(err, &option) || errors.As(err, &typed) ||
		strings.HasPrefix(err.Error(), "unknown command")
}

// plainWords makes a command and those below it say in plain words which
// arguments they want.
func plainWords(cmd *cobra.Command) {
	for _, sub := range cmd.Commands() {
		plainWords(sub)
	}
	switch check := cmd.Args; {
	case !cmd.HasParent():
	case cmd.RunE == nil:
		cmd.Args = func(cmd *cobra.Command, args []string) error { return groupError(cmd, args) }
		cmd.RunE = func(*cobra.Command, []string) error { return nil }
	case check != nil:
		cmd.Args = func(cmd *cobra.Command, args []string) error { return argsError(cmd, args, check(cmd, args)) }
	}
}

// groupError answers a group of commands without one of them.
func groupError(cmd *cobra.Command, args []string) error {
	var names []string
	for _, sub := range cmd.Commands() {
		names = append(names, sub.Name())
	}
	if len(args) > 0 {
		return usagef("%s: found %q, expected one of %s", shortPath(cmd), args[0], strings.Join(names, ", "))
	}
	return usagef("%s: expected one of %s after it", shortPath(cmd), strings.Join(names, ", "))
}

// shortPath is a command as it is typed, without the program's name.
func shortPath(cmd *cobra.Command) string {
	return strings.TrimPrefix(cmd.CommandPath(), cmd.Root().Name()+" ")
}

// argsError answers a wrong number of arguments.
func argsError(cmd *cobra.Command, args []string, err error) error {
	var ours usageError
	if err == nil || errors.As(err, &ours) {
		return err
	}
	found := fmt.Sprintf("%d arguments", len(args))
	switch len(args) {
	case 0:
		found = "no argument"
	case 1:
		found = fmt.Sprintf("one argument, %q", args[0])
	}
	return usagef("%s: found %s, expected %s", shortPath(cmd), found, strings.TrimSuffix(cmd.UseLine(), " [flags]"))
}

// flagError answers a wrong flag, without the names of the parser's functions.
func flagError(_ *cobra.Command, err error) error {
	text, why, ok := strings.Cut(err.Error(), ": strconv.")
	if !ok {
		return usageError{err}
	}
	expected := "a whole number"
	if strings.HasPrefix(why, "ParseBool") {
		expected = "true or false, or nothing after it"
	}
	return usagef("%s, expected %s", text, expected)
}

// flagNumber reads the number of a flag; a bare number is in the unit.
func flagNumber(flag, text, unit string) (float64, error) {
	x, err := measure.ParseNumber(text, unit)
	if err != nil {
		return 0, usagef("%s: %w", flag, err)
	}
	return x, nil
}
