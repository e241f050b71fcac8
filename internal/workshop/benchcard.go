package workshop

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/quantity"
)

// BenchCard is a card with blanks for one measurement, and what is known of the
// bench already: it is printed, and its typed-in twin asks for the same things
// in the same order.
type BenchCard struct {
	About       measure.About
	Card        measure.Card
	Set         receiver.Set   // zero for a card of no set
	State       receiver.State // zero likewise
	Instruments []run.Instrument
}

// BenchCard returns the card of a measurement. state may be empty, for a card
// with all its blanks.
func (s *Shop) BenchCard(ctx context.Context, measurement, state string) (BenchCard, error) {
	m, err := s.Registry.Get(measurement)
	if err != nil {
		return BenchCard{}, err
	}
	carded, ok := m.(measure.Carded)
	if !ok {
		return BenchCard{}, fmt.Errorf("%s is not done by card: it needs an instrument that is read by wire", m.About().Title)
	}
	out := BenchCard{About: m.About()}
	if s.Book != nil {
		if out.Instruments, err = s.Book.Instruments(ctx); err != nil {
			return out, err
		}
	}
	if state != "" {
		target, err := s.Find(ctx, state)
		if err != nil {
			return out, err
		}
		if out.Set = target.Set; len(target.States) > 0 {
			out.State = target.States[len(target.States)-1]
		}
	}
	out.Card = carded.Card(run.Setup{Instruments: out.Instruments})
	return out, nil
}

// Printed is what of a line is known already and stands on the printed card;
// empty for a blank.
func (c BenchCard) Printed(line measure.CardLine) string {
	switch line.Fact {
	case measure.FactSet:
		return strings.TrimSuffix(c.Set.Name+", "+c.Set.Serial, ", ")
	case measure.FactState:
		return c.State.Name
	case measure.FactInstrument:
		if len(c.Instruments) == 1 {
			return c.Instruments[0].Name
		}
	}
	return ""
}

// Minutes is a moment of the card as it is printed and typed.
func Minutes(atS float64) string { return quantity.Printer{}.Format(quantity.Exact(atS/60), "1") }

// TypedLine is the text of a line as the measurement takes it: a bare number
// gets the unit that the card prints beside the blank.
func TypedLine(line measure.CardLine, text string) string {
	text = strings.TrimSpace(text)
	if _, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64); err == nil && line.Unit != "" {
		return text + " " + line.Unit
	}
	return text
}
