package main

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/quantity"
	"setwright/superhet"
)

// newCompute builds "compute WHAT ...": the calculators. They keep nothing and
// need no book.
func newCompute() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "compute",
		Short: "Calculators of the bench: levels, pads, dummy antennas, external noise",
		Long: `Calculators of the bench. Nothing is stored.

Quantities are typed as people write them: "-73 dBm", "50 µV emf", "1 uV pd", "7.1 MHz", "20 dB".
A voltage says which it is: emf, the open-circuit voltage of the generator, or pd, that across a
load equal to the source; they are 6 dB apart. dBm is always available power.`,
	}
	cmd.AddCommand(newComputeLevel(), newComputePad(), newComputeDummy(), newComputeNoise())
	return cmd
}

// signed lets a calculator be given a negative number as it is written: the
// hyphen before a digit becomes a minus sign, which no flag begins with.
func signed(args []string) []string {
	if len(args) == 0 || args[0] != "compute" {
		return args
	}
	out := append([]string(nil), args...)
	for i, a := range out {
		if len(a) > 1 && a[0] == '-' && strings.ContainsRune("0123456789.,", rune(a[1])) {
			out[i] = "−" + a[1:]
		}
	}
	return out
}

// computed is the answer of a calculator, printed for people or as JSON.
type computed struct {
	method    string
	sentences []string
	heading   []string
	rows      [][]string
	figures   []run.Figure
	notes     []string
}

// add adds a figure that is not printed as a row of its own.
func (c *computed) add(id, unit string, v quantity.Value, conditions map[string]string, details ...run.Detail) {
	c.figures = append(c.figures, run.Figure{ID: id, Unit: unit, Outcome: quantity.Known(v), Conditions: conditions, Method: c.method, Details: details})
}

func (c *computed) say(format string, args ...any) {
	c.sentences = append(c.sentences, fmt.Sprintf(format, args...))
}

func (c *computed) note(format string, args ...any) {
	c.notes = append(c.notes, fmt.Sprintf(format, args...))
}

// print writes the answer.
func (c *computed) print(cmd *cobra.Command, asJSON bool) error {
	w := cmd.OutOrStdout()
	if asJSON {
		return workshop.DocumentOf(measure.Analysis{Sentences: c.sentences, Figures: c.figures, Notes: c.notes}).Write(w)
	}
	for _, s := range c.sentences {
		fmt.Fprintln(w, wrap(s, 92, ""))
	}
	if len(c.rows) > 0 {
		fmt.Fprintln(w)
		rows := c.rows
		if c.heading != nil {
			rows = append([][]string{c.heading}, rows...)
		}
		printTable(w, rows)
	}
	printList(w, "Notes", c.notes)
	return nil
}

// jsonFlag adds --json.
func jsonFlag(cmd *cobra.Command) *bool {
	return cmd.Flags().Bool("json", false, "print one JSON object")
}

// told prints a value: with its uncertainty where it has one, else to four
// digits.
func told(v quantity.Value, unit string) string {
	if v.U() > 0 {
		return printer.Format(v, unit)
	}
	return printer.Told(v.Estimate(), unit, 4)
}

// decibels prints a level or a loss to a hundredth, with its uncertainty where
// it has one.
func decibels(v quantity.Value, unit string) string {
	if v.U() > 0 {
		return printer.Format(v, unit)
	}
	text := strconv.FormatFloat(math.Abs(v.Estimate()), 'f', 2, 64)
	if v.Estimate() < 0 && text != "0.00" {
		text = "−" + text
	}
	return text + " " + unit
}

// typedError makes what was typed wrongly an error of the command.
func typedError(what string, err error) error {
	var level *superhet.LevelError
	var typed *quantity.ParseError
	if errors.As(err, &level) || errors.As(err, &typed) {
		return usagef("%s: %w", what, err)
	}
	return err
}

// typedValue reads a number in a unit with what is typed after ±, which becomes
// a source of that name.
func typedValue(what, text, unit string, src quantity.Source) (quantity.Value, error) {
	q, err := quantity.ParseAs(text, unit)
	if err != nil {
		return quantity.Value{}, usagef("%s: %w", what, err)
	}
	x, err := q.In(unit)
	if err != nil {
		return quantity.Value{}, usagef("%s: %w", what, err)
	}
	v := quantity.Exact(x)
	if q.PlusMinus > 0 {
		v = v.With(quantity.Contribution{Source: src, C: q.PlusMinus})
	}
	return v, nil
}

// positive reads a number above zero.
func positive(what, text, unit string) (float64, error) {
	x, err := flagNumber(what, text, unit)
	if err != nil {
		return 0, err
	}
	if !(x > 0) || math.IsInf(x, 1) {
		return 0, usagef("%s: found %q, expected more than zero", what, text)
	}
	return x, nil
}

// typedSource is the error of a number as it was typed.
func typedSource(what string) quantity.Source {
	return quantity.RunSource("typed", what).Source(what+", as typed", 0)
}

// plainNumber is a number for a condition: its shortest form.
func plainNumber(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// choiceWords lists choices for a flag's help.
func choiceWords(words []string) string { return strings.Join(words, ", ") }
