package measure

import (
	"fmt"
	"slices"
	"strings"

	"setwright/quantity"
)

// Check says what is wrong with the text of an option, or nil: a word that is
// not one of its choices, or a number that does not parse in its unit.
func (o OptionSpec) Check(text string) error {
	if text == "" {
		return nil
	}
	if len(o.Choices) > 0 && o.List {
		return o.checkWords(text)
	}
	if len(o.Choices) > 0 {
		for _, c := range o.Choices {
			if c == text {
				return nil
			}
		}
		return o.wrong("found %q, expected one of %s", text, strings.Join(o.Choices, ", "))
	}
	if o.Verify != nil {
		if err := o.Verify(text); err != nil {
			return o.wrong("%v", err)
		}
		return nil
	}
	if o.Unit == "" {
		return nil
	}
	for _, part := range o.Parts(text) {
		x, err := ParseNumber(part, o.Unit)
		if err != nil {
			return o.wrong("%v", err)
		}
		if o.Positive && x <= 0 {
			return o.wrong("found %q, expected more than zero, for example %q", part, o.Example)
		}
	}
	return nil
}

// OptionError is an option that was given wrongly, whatever the data are.
type OptionError struct {
	Name, Title string
	Text        string // what was found and expected
}

func (e *OptionError) Error() string { return e.Title + ": " + e.Text }

func (o OptionSpec) wrong(format string, args ...any) error {
	return &OptionError{o.Name, o.Title, fmt.Sprintf(format, args...)}
}

// checkWords checks a list of words, each one of the choices.
func (o OptionSpec) checkWords(text string) error {
	for _, word := range o.Parts(text) {
		if !slices.Contains(o.Choices, strings.ToLower(word)) {
			return o.wrong("found %q, expected some of %s", word, strings.Join(o.Choices, ", "))
		}
	}
	return nil
}

// Parts splits the text of an option that takes several numbers.
func (o OptionSpec) Parts(text string) []string {
	if !o.List {
		return []string{text}
	}
	var parts []string
	for _, p := range strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == ',' }) {
		if p = strings.TrimSpace(p); p != "" {
			parts = append(parts, p)
		}
	}
	return parts
}

// ParseNumber reads the text of a number in a unit; a bare number is in it.
func ParseNumber(text, unit string) (float64, error) {
	q, err := quantity.ParseAs(text, unit)
	if err != nil {
		return 0, err
	}
	return q.In(unit)
}
