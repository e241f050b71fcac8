package superhet

import (
	"fmt"
	"strings"

	"setwright/quantity"
)

// The two meanings of a generator's volts.
const (
	EMF = "emf" // open circuit
	PD  = "pd"  // across a matched load
)

// Reading says how levels are read where their text does not.
type Reading struct {
	SourceOhm float64 // 0: 50 ohm
	// Unit is taken for a bare number, "" for none.
	Unit string
	// Volts is what a voltage without emf or pd behind it is: EMF, PD, or "",
	// which refuses it.
	Volts string
	// Source names the error of what is typed after ±, of one standard
	// uncertainty.
	Source quantity.Source
}

// LevelError is a level that cannot be read as one.
type LevelError struct{ Text, Found, Expected string }

func (e *LevelError) Error() string {
	return fmt.Sprintf("%q: found %s, expected %s", e.Text, e.Found, e.Expected)
}

// ParseLevel reads a generator's level as people write it: "-73 dBm", "50 µV
// emf", "1 uV pd", "34 dBµV emf", "-107 dBm ± 1 dB". Power is available power;
// of a voltage it must be said whether it is open circuit or across a matched
// load, for they are 6 dB apart.
func ParseLevel(text string, r Reading) (Level, error) {
	parse := quantity.Parse
	if r.Unit != "" {
		parse = func(text string) (quantity.Quantity, error) { return parseIn(text, r.Unit) }
	}
	q, err := parse(text)
	if err != nil {
		return Level{}, err
	}
	value := quantity.Exact(q.Value)
	if q.PlusMinus > 0 {
		value = value.With(quantity.Contribution{Source: r.Source, C: q.PlusMinus})
	}
	return r.level(text, value, q.Unit, q.Qualifier)
}

// parseIn takes a unit for bare numbers; any other unit of a level may be
// written.
func parseIn(text, unit string) (quantity.Quantity, error) {
	q, err := quantity.Parse(text)
	if err == nil && q.Unit != "1" {
		return q, nil
	}
	return quantity.ParseAs(text, unit)
}

// VoltsWord returns which voltage the text of a level says it is: [EMF], [PD], or
// "" where it says nothing or is none.
func VoltsWord(text string) string {
	q, err := quantity.Parse(text)
	if err != nil || q.Qualifier != EMF && q.Qualifier != PD {
		return ""
	}
	return q.Qualifier
}

// VoltsAsTyped is the word [EMF] or [PD] that stands behind levels as they were
// typed, where all that have one have the same; "" otherwise. What an amendment wrote
// round a level is passed over.
func VoltsAsTyped(cells []string) string {
	word := ""
	for _, text := range cells {
		text, _, _ = strings.Cut(text[strings.LastIndex(text, ": ")+1:], ";")
		switch got := VoltsWord(text); {
		case got == "":
		case word != "" && got != word:
			return ""
		default:
			word = got
		}
	}
	return word
}

// Of returns the level of a number in a base unit (dBm, V, dBµV, W), a voltage
// being what the reading says.
func (r Reading) Of(value quantity.Value, unit string) (Level, error) {
	return r.level(quantity.Format(value, unit), value, unit, "")
}

func (r Reading) level(text string, value quantity.Value, unit, qualifier string) (Level, error) {
	ohm := r.SourceOhm
	if ohm == 0 {
		ohm = 50
	}
	if qualifier == "" {
		qualifier = r.Volts
	}
	switch unit {
	case "dBm":
		return Level{value, ohm}, nil
	case "W":
		if value.Estimate() <= 0 {
			return Level{}, &LevelError{text, "no power", "more than zero"}
		}
		return Level{value.PowerRatioDB().Shift(30), ohm}, nil
	case "dBµV":
		return voltage(text, Volts(value), ohm, qualifier)
	case "dBV":
		return voltage(text, value.VoltageRatio(), ohm, qualifier)
	case "V":
		return voltage(text, value, ohm, qualifier)
	}
	found := "a number without a unit"
	if unit != "1" {
		found = "a quantity in " + unit
	}
	return Level{}, &LevelError{text, found, `a level, for example "-73 dBm", "50 µV emf" or "1 µV pd"`}
}

func voltage(text string, volts quantity.Value, ohm float64, qualifier string) (Level, error) {
	if !(volts.Estimate() > 0) {
		return Level{}, &LevelError{text, "no voltage", "more than zero"}
	}
	switch qualifier {
	case EMF:
		return FromEMF(volts, ohm), nil
	case PD:
		return FromPD(volts, ohm), nil
	case "":
		return Level{}, &LevelError{text, "a voltage that does not say which",
			fmt.Sprintf(`"emf" (open circuit) or "pd" (across a matched load) behind it, for they are 6 dB apart: "%s emf"`, text)}
	}
	return Level{}, &LevelError{text, fmt.Sprintf("%q", qualifier), `"emf" or "pd" behind the unit`}
}
