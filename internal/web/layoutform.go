package web

import (
	"maps"
	"net/url"
	"regexp"
	"slices"
	"strconv"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/quantity"
)

// exact prints a number with the digits it needs.
func exact(x float64, unit string) string { return printer.Format(quantity.Exact(x), unit) }

// formWords say what the forms of a time column are.
var formWords = map[string]string{
	intake.TimeNumber: "a number", intake.TimeElapsed: "as 14:20 or 1:05:00", intake.TimeElapsedHM: "as 1:05, hours and minutes",
	intake.TimeClock: "as a time of day", intake.TimeStamp: "as date and time", intake.TimeUnix: "in seconds since 1970",
	intake.TimeUnixMillis: "in milliseconds since 1970", intake.TimeIndex: "by counting the readings",
}

// layoutItems are the items of a layout that can be put right.
func layoutItems(lay intake.Layout) []layoutItem {
	item := func(name, label string, g intake.Guess, choices ...Choice) layoutItem {
		return layoutItem{Field: Field{Name: name, Label: label, Value: g.Value, Kind: "select", Choices: withValue(choices, g.Value)}, Guess: g, Was: g.Value}
	}
	var out []layoutItem
	if lay.Format.Value == intake.FormatText {
		out = append(out, item("separator", "Between cells", lay.Separator, Choice{"comma", "comma"}, Choice{"semicolon", "semicolon"},
			Choice{"tab", "tab"}, Choice{"pipe", "upright stroke"}, Choice{"space", "blanks"}, Choice{"none", "nothing: one column"}, Choice{"notes", "notes in words"}))
		out = append(out, item("encoding", "Characters", lay.Encoding, Choice{"utf-8", "UTF-8"}, Choice{"windows-1252", "Western European"},
			Choice{"utf-16le", "UTF-16, low byte first"}, Choice{"utf-16be", "UTF-16, high byte first"}))
	}
	out = append(out, item("decimal", "Decimal sign", lay.Decimal, Choice{"point", "point"}, Choice{"comma", "comma"}),
		item("thousands", "Between thousands", lay.Thousands, Choice{"none", "nothing"}, Choice{"point", "point"}, Choice{"comma", "comma"}, Choice{"space", "blank or apostrophe"}))
	if lay.DateOrder.Value != "" {
		out = append(out, item("date-order", "Order of dates", lay.DateOrder, Choice{"dmy", "day, month, year"}, Choice{"mdy", "month, day, year"}, Choice{"ymd", "year, month, day"}))
	}
	if len(lay.Sheets) > 1 {
		var sheets []Choice
		for _, name := range lay.Sheets {
			sheets = append(sheets, Choice{name, name})
		}
		out = append(out, item("sheet", "Sheet", lay.Sheet, sheets...))
	}
	if lay.Column(intake.RoleTime) == nil {
		f := layoutItem{Field: Field{Name: "spacing", Label: "Time between readings", Value: lay.Spacing.Value, Example: "10 s"}, Guess: lay.Spacing, Was: lay.Spacing.Value}
		out = append(out, f)
	}
	return out
}

// withValue adds the present value to the choices where it is not among them.
func withValue(choices []Choice, value string) []Choice {
	if slices.ContainsFunc(choices, func(c Choice) bool { return c.Value == value }) {
		return choices
	}
	if value == "" {
		return append([]Choice{{"", "not known"}}, choices...)
	}
	return append(choices, Choice{value, value})
}

// columnOf is a column with its choices.
func columnOf(c intake.Column, about measure.About) columnItem {
	roles := []Choice{}
	base := ""
	for _, spec := range about.Columns {
		roles = append(roles, Choice{spec.Role, spec.Title})
		if spec.Role == c.Role.Value {
			base = spec.Unit
		}
	}
	roles = append(roles, Choice{intake.RoleDate, "date only"}, Choice{intake.RoleIgnore, "left alone"})
	unit, units := c.Unit, unitChoices(base)
	if c.Role.Value == intake.RoleTime {
		if form := c.TimeForm; form.Value != intake.TimeNumber && form.Value != "" {
			unit = form
		}
	}
	item := func(name, label string, g intake.Guess, choices []Choice) layoutItem {
		return layoutItem{Field: Field{Name: name, Label: label, Value: g.Value, Kind: "select", Choices: withValue(choices, g.Value)}, Guess: g, Was: g.Value}
	}
	out := columnItem{Number: c.Number, Header: c.Header, Sample: c.Sample[:min(3, len(c.Sample))],
		Role: item(column(c.Number, "role"), "Column "+strconv.Itoa(c.Number)+" is", c.Role, roles),
		Unit: item(column(c.Number, "unit"), "Unit of column "+strconv.Itoa(c.Number), unit, units)}
	if base == "" { // whatever it may be put right to
		all := []Choice{{"", "not said"}}
		for _, spec := range about.Columns {
			for _, c := range unitChoices(spec.Unit) {
				if !slices.Contains(all, c) {
					all = append(all, c)
				}
			}
		}
		out.Unit.Choices = withValue(all, unit.Value)
	}
	return out
}

// unitChoices are the units that a column of a base unit is kept in.
func unitChoices(base string) []Choice {
	switch base {
	case "s":
		return []Choice{{"s", "seconds"}, {"min", "minutes"}, {"h", "hours"}, {intake.TimeElapsed, "14:20 or 1:05:00"}, {intake.TimeElapsedHM, "1:05, hours and minutes"},
			{intake.TimeClock, "time of day"}, {intake.TimeStamp, "date and time"}, {intake.TimeUnix, "seconds since 1970"}, {intake.TimeUnixMillis, "milliseconds since 1970"},
			{intake.TimeIndex, "number of the reading"}}
	case "Hz":
		return []Choice{{"Hz", "Hz"}, {"kHz", "kHz"}, {"MHz", "MHz"}}
	case "°C":
		return []Choice{{"°C", "°C"}, {"°F", "°F"}, {"K", "K"}}
	case "V":
		return []Choice{{"V", "V"}, {"mV", "mV"}, {"kV", "kV"}}
	}
	return []Choice{{base, base}}
}

// entryOfColumn matches the form entries of columns: "c2 role".
var entryOfColumn = regexp.MustCompile(`^c(\d{1,6}) (role|unit)$`)

// overrideOf reads what the user put right: only entries that differ from what
// was shown, or that were put right before, so that the rest stay guesses with
// their reasons.
func overrideOf(form url.Values) (intake.Override, error) {
	var over intake.Override
	fixed := func(name string) bool {
		was, shown := form["was "+name]
		return form.Get("fixed "+name) != "" || (shown && form.Get(name) != was[0])
	}
	for _, name := range []string{"separator", "encoding", "decimal", "thousands", "date-order", "sheet", "spacing"} {
		if v := form.Get(name); v != "" && fixed(name) {
			if err := over.Set(name, v); err != nil {
				return over, err
			}
		}
	}
	columns := map[int]bool{}
	for name := range form {
		if m := entryOfColumn.FindStringSubmatch(name); m != nil && fixed(name) {
			n, _ := strconv.Atoi(m[1]) // digits, by the pattern
			columns[n] = true
		}
	}
	for _, n := range slices.Sorted(maps.Keys(columns)) {
		if err := over.Set("column", columnText(form, n, fixed)); err != nil {
			return over, err
		}
	}
	return over, nil
}

// columnText writes a column as an override takes it: "2=frequency:kHz". A unit
// that was shown for another role is not kept.
func columnText(form url.Values, n int, fixed func(string) bool) string {
	role, unit := form.Get(column(n, "role")), form.Get(column(n, "unit"))
	text := strconv.Itoa(n) + "=" + role
	roleChanged := form.Get("was "+column(n, "role")) != role
	if unit != "" && role != intake.RoleIgnore && role != intake.RoleDate && (fixed(column(n, "unit")) || !roleChanged) {
		text += ":" + unit
	}
	return text
}
