package workshop

import (
	"context"
	"fmt"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/store"
	"setwright/quantity"
)

// Amount is the difference in one figure that matters in this book, with its
// reason; Default tells what the measurement proposes.
type Amount struct {
	Figure   measure.FigureSpec
	Amount   float64
	Relative bool
	Why      string
	Default  bool
}

// Text writes the amount as [Shop.SetAmount] reads it; empty where none is
// stated.
func (a Amount) Text() string {
	switch {
	case a.Amount == 0:
		return ""
	case a.Relative:
		return quantity.FormatNumber(100*a.Amount, "%")
	}
	return quantity.FormatNumber(a.Amount, a.Figure.Unit)
}

// amounts are the book's own amounts by figure id.
type amounts map[string]store.Amount

// apply puts the book's amount in place of the default.
func (a amounts) apply(spec measure.FigureSpec) measure.FigureSpec {
	if own, ok := a[spec.ID]; ok {
		spec.Matters, spec.Relative, spec.Why = own.Amount, own.Relative, own.Reason
	}
	return spec
}

// amountsOrDefaults reads the book's amounts; without a book, or where it
// cannot be read just now, the defaults stand.
func (s *Shop) amountsOrDefaults(ctx context.Context) amounts {
	out := amounts{}
	if s.Book == nil {
		return out
	}
	list, err := s.Book.Amounts(ctx)
	if err != nil {
		return out
	}
	for _, a := range list {
		out[a.Figure] = a
	}
	return out
}

// Amounts lists the amounts that matter: one table over all measurements.
func (s *Shop) Amounts(ctx context.Context) ([]Amount, error) {
	own := s.amountsOrDefaults(ctx)
	var out []Amount
	for _, id := range s.Registry.IDs() {
		m, err := s.Registry.Get(id)
		if err != nil {
			return nil, err
		}
		for _, spec := range m.About().Figures {
			if spec.Better == "" {
				continue
			}
			_, changed := own[spec.ID]
			applied := own.apply(spec)
			out = append(out, Amount{Figure: spec, Amount: applied.Matters, Relative: applied.Relative, Why: applied.Why, Default: !changed})
		}
	}
	return out, nil
}

// SetAmount sets the amount that matters for a figure. text is a quantity in
// the figure's unit, or a percentage of the value. An empty text goes back to
// the default.
func (s *Shop) SetAmount(ctx context.Context, figure, text, why string) error {
	spec, _, ok := s.Registry.Figure(figure)
	if !ok || spec.Better == "" {
		return fmt.Errorf("figure %q: expected one of %s", figure, strings.Join(s.judgedFigures(), ", "))
	}
	text = strings.TrimSpace(text)
	if text == "" {
		return s.Book.DropAmount(ctx, figure)
	}
	a := store.Amount{Figure: figure, Reason: strings.TrimSpace(why)}
	if a.Reason == "" {
		return fmt.Errorf("amount that matters for %s: say why, so that a verdict can be understood later", spec.Title)
	}
	unit := spec.Unit
	if strings.HasSuffix(text, "%") && unit != "%" {
		unit, a.Relative = "1", true
	}
	x, err := measure.ParseNumber(text, unit)
	if err != nil {
		return err
	}
	if x <= 0 {
		return fmt.Errorf("amount that matters for %s: found %s, expected more than zero", spec.Title, text)
	}
	a.Amount = x
	return s.Book.SetAmount(ctx, a)
}
