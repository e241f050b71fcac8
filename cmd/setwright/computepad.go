package main

import (
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"setwright/quantity"
	"setwright/superhet"
)

// padFlags are what "compute pad" is told.
type padFlags struct {
	from, to, source, load, shape, series, tolerance string
}

func newComputePad() *cobra.Command {
	var f padFlags
	cmd := &cobra.Command{
		Use: "pad [LOSS]", Short: "Attenuator pads from resistors one can buy", Args: cobra.MaximumNArgs(1),
		Long: `T and pi pads of a loss, or, without a loss, the pad that matches two unequal impedances with the
least. Exact values, the nearest preferred ones, and what the pad made of those really does.`,
		Example: `  setwright compute pad "20 dB"
  setwright compute pad --from 75 --to 50
  setwright compute pad "10 dB" --load 300`,
	}
	cmd.Flags().StringVar(&f.from, "from", "50", "impedance the pad is made for at the generator's end, ohms")
	cmd.Flags().StringVar(&f.to, "to", "", "the same at the receiver's end (default: that of --from)")
	cmd.Flags().StringVar(&f.source, "source", "", "resistance of the generator it is really used with (default: that of --from)")
	cmd.Flags().StringVar(&f.load, "load", "", "resistance of the load it is really used with (default: that of --to)")
	cmd.Flags().StringVar(&f.shape, "shape", "both", "T, pi, both")
	cmd.Flags().StringVar(&f.series, "series", "E24", "preferred values: E12, E24, E96")
	cmd.Flags().StringVar(&f.tolerance, "tolerance", "", "limits of the resistors, for example \"5 %\" (default: those that go with the series)")
	asJSON := jsonFlag(cmd)
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		c, err := computePad(strings.Join(args, ""), f)
		if err != nil {
			return err
		}
		return c.print(cmd, *asJSON)
	}
	return cmd
}

// ends are the four impedances of a pad: those it is made for, and those it is
// used between.
type ends struct{ from, to, source, load float64 }

func (f padFlags) ends() (e ends, err error) {
	if e.from, err = positive("--from", f.from, "Ω"); err != nil {
		return e, err
	}
	for _, x := range []struct {
		into       *float64
		flag, text string
		usual      *float64
	}{{&e.to, "--to", f.to, &e.from}, {&e.source, "--source", f.source, &e.from}, {&e.load, "--load", f.load, &e.to}} {
		if *x.into = *x.usual; x.text == "" {
			continue
		}
		if *x.into, err = positive(x.flag, x.text, "Ω"); err != nil {
			return e, err
		}
	}
	return e, nil
}

// preferred reads the series and the tolerance.
func (f padFlags) preferred() (s superhet.Series, tolerance float64, err error) {
	for _, have := range []superhet.Series{superhet.E12, superhet.E24, superhet.E96} {
		if strings.EqualFold(f.series, have.String()) {
			s = have
		}
	}
	if s == 0 {
		return s, 0, usagef("--series: found %q, expected E12, E24 or E96", f.series)
	}
	if f.tolerance == "" {
		return s, s.Tolerance(), nil
	}
	tolerance, err = flagNumber("--tolerance", f.tolerance, "1")
	if err == nil && !(tolerance >= 0 && tolerance <= 0.5) {
		err = usagef("--tolerance: found %q, expected 0 to 50 %%", f.tolerance)
	}
	return s, tolerance, err
}

// pads returns those asked for.
func (f padFlags) pads(loss string, e ends) ([]superhet.Pad, error) {
	if loss == "" {
		if e.from == e.to {
			return nil, usagef("pad: found no loss, expected one, for example \"20 dB\"; without a loss --from and --to must differ: the pad then matches them")
		}
		p, err := superhet.MinimumLossPad(e.from, e.to)
		return []superhet.Pad{p}, err
	}
	db, err := flagNumber("loss", loss, "dB")
	if err != nil {
		return nil, err
	}
	shapes := map[string][]string{"t": {superhet.ShapeT}, "pi": {superhet.ShapePi}, "both": {superhet.ShapePi, superhet.ShapeT}}[strings.ToLower(f.shape)]
	if shapes == nil {
		return nil, usagef("--shape: found %q, expected T, pi or both", f.shape)
	}
	var out []superhet.Pad
	for _, shape := range shapes {
		p, err := superhet.NewPad(shape, db, e.from, e.to)
		if err != nil {
			return nil, usagef("pad: %w", err)
		}
		out = append(out, p)
	}
	return out, nil
}

// computePad works out the pads.
func computePad(loss string, f padFlags) (*computed, error) {
	e, err := f.ends()
	if err != nil {
		return nil, err
	}
	series, tolerance, err := f.preferred()
	if err != nil {
		return nil, err
	}
	pads, err := f.pads(loss, e)
	if err != nil {
		return nil, err
	}
	c := &computed{method: "pad/1", heading: []string{"", "resistor", "exact", series.String()}}
	for _, p := range pads {
		c.pad(p, p.From(series), e, tolerance, series.String())
	}
	c.note("loss: available power of the source over power in the load; resistors within ±%s of their value. A pad of much loss wants screening, or it leaks round itself", quantity.FormatNumber(100*tolerance, "%"))
	return c, nil
}

// pad adds one pad: exact, and as it is made.
func (c *computed) pad(exact, made superhet.Pad, e ends, tolerance float64, series string) {
	names := map[string][]string{
		superhet.ShapeT:       {"series, generator's end", "shunt", "series, receiver's end"},
		superhet.ShapePi:      {"shunt, generator's end", "series", "shunt, receiver's end"},
		superhet.ShapeMinimum: {fmt.Sprintf("series, at the %s end", ohms(math.Max(e.from, e.to))), fmt.Sprintf("shunt, across the %s end", ohms(math.Min(e.from, e.to)))},
	}[exact.Shape]
	at := map[string]string{"shape": exact.Shape, "series": series, "source_ohm": plainNumber(e.source), "load_ohm": plainNumber(e.load)}
	for i, name := range names {
		label := ""
		if i == 0 {
			label = exact.Shape
		}
		c.rows = append(c.rows, []string{label, name, ohms(exact.R[i]), ohms(made.R[i])})
		c.add("resistor", "Ω", quantity.Exact(made.R[i]), with(at, "place", name))
	}
	loss := made.LossValue(e.source, e.load, tolerance)
	c.rows = append(c.rows, []string{"", "loss", decibels(quantity.Exact(exact.Loss(e.source, e.load)), "dB"), decibels(loss, "dB")})
	in := made.InputOhm(e.load)
	c.rows = append(c.rows, []string{"", "seen by the generator", ohms(exact.InputOhm(e.load)), ohms(in)})
	c.rows = append(c.rows, []string{"", "seen by the receiver", ohms(exact.OutputOhm(e.source)), ohms(made.OutputOhm(e.source))})
	c.add("loss", "dB", loss, at)
	c.add("input_resistance", "Ω", quantity.Exact(in), at)
	c.add("output_resistance", "Ω", quantity.Exact(made.OutputOhm(e.source)), at)
	c.say("%s between %s and %s: %s from %s values.", capitalShape(exact.Shape), ohms(e.source), ohms(e.load), decibels(loss, "dB"), series)
	if e.source != e.load {
		c.add("insertion_loss", "dB", quantity.Exact(made.InsertionLoss(e.source, e.load)), at)
		c.rows = append(c.rows, []string{"", "against no pad", decibels(quantity.Exact(exact.InsertionLoss(e.source, e.load)), "dB"), decibels(quantity.Exact(made.InsertionLoss(e.source, e.load)), "dB")})
	}
}

func capitalShape(shape string) string {
	switch shape {
	case superhet.ShapeT:
		return "T pad"
	case superhet.ShapePi:
		return "Pi pad"
	}
	return "Pad of least loss"
}

// with returns a copy of conditions with one more.
func with(conditions map[string]string, name, value string) map[string]string {
	out := map[string]string{name: value}
	for k, v := range conditions {
		out[k] = v
	}
	return out
}
