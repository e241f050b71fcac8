package intake

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// ColumnOverride fixes what a column is; empty items stay guesses.
type ColumnOverride struct {
	Role     string `json:"role,omitempty"`
	Unit     string `json:"unit,omitempty"`
	TimeForm string `json:"time_form,omitempty"`
}

// Override is what the user says about a source where guessing will not do.
// The zero value leaves everything to the guesses.
type Override struct {
	Encoding  string                 `json:"encoding,omitempty"`   // utf-8, utf-16le, utf-16be, windows-1252
	Separator string                 `json:"separator,omitempty"`  // comma, semicolon, tab, pipe, space, none, notes
	Decimal   string                 `json:"decimal,omitempty"`    // point, comma
	Thousands string                 `json:"thousands,omitempty"`  // none, point, comma, space
	Comment   string                 `json:"comment,omitempty"`    // what begins a comment line
	Time      string                 `json:"time,omitempty"`       // a time unit or form, for the time column
	DateOrder string                 `json:"date_order,omitempty"` // dmy, mdy, ymd
	Sheet     string                 `json:"sheet,omitempty"`
	Skip      int                    `json:"skip,omitempty"`    // lines before the readings (the last may be headings)
	Spacing   string                 `json:"spacing,omitempty"` // "1s": between readings without a time
	Start     string                 `json:"start,omitempty"`   // "2024-05-01 19:00": zero of times
	Missing   []string               `json:"missing,omitempty"` // cell texts that mean "no reading"
	Columns   map[int]ColumnOverride `json:"columns,omitempty"` // by column number from 1
}

// OverrideError says that an override is wrong whatever the source holds: a role
// or a unit that there is not. What it was said about is not to blame.
type OverrideError struct{ text string }

func (e *OverrideError) Error() string { return e.text }

func wrongOverride(format string, args ...any) error {
	return &OverrideError{fmt.Sprintf(format, args...)}
}

// OverrideNames are the names that [Override.Set] understands, with a word on
// each, in the order of a help text.
func OverrideNames() [][2]string {
	return [][2]string{
		{"column", "N=ROLE:UNIT, as in 2=frequency:kHz, 1=time:clock, 3=ignore"},
		{"time", "unit or form of the time column: seconds, minutes, hours, elapsed, elapsed_hm, clock, stamp, unix, index"},
		{"decimal", "decimal mark: point or comma"},
		{"thousands", "thousands mark: none, point, comma or space"},
		{"separator", "comma, semicolon, tab, pipe, space, none (one column) or notes"},
		{"skip", "number of lines before the readings"},
		{"spacing", "time between readings where no time is given, as in 1s"},
		{"start", "moment that times count from, as in 2024-05-01 19:00"},
		{"date-order", "dmy, mdy or ymd"},
		{"missing", "cell text that means: no reading"},
		{"comment", "what begins a comment line, as in #"},
		{"sheet", "name of the sheet in a spreadsheet"},
		{"encoding", "utf-8, utf-16le, utf-16be or windows-1252"},
	}
}

var (
	encodings  = []string{"utf-8", "utf-16le", "utf-16be", "windows-1252"}
	separators = []string{SepComma, SepSemicolon, SepTab, SepPipe, SepSpace, SepNone, SepNotes}
	dateOrders = []string{string(dayFirst), string(monthFirst), string(yearFirst)}
)

// Set takes one override as a name and a value in text, as from a command line
// or a form. Errors say what is allowed.
func (o *Override) Set(name, value string) error {
	value = strings.TrimSpace(value)
	switch name {
	case "column":
		return o.setColumn(value)
	case "encoding":
		return oneOf(&o.Encoding, name, aliasOf(value, map[string]string{"utf8": "utf-8", "latin1": "windows-1252", "latin-1": "windows-1252", "iso-8859-1": "windows-1252", "utf-16": "utf-16le", "utf16": "utf-16le"}), encodings)
	case "separator":
		return oneOf(&o.Separator, name, aliasOf(value, map[string]string{",": SepComma, ";": SepSemicolon, "\\t": SepTab, "|": SepPipe, "whitespace": SepSpace, "blank": SepSpace}), separators)
	case "decimal":
		return oneOf(&o.Decimal, name, aliasOf(value, map[string]string{".": MarkPoint, ",": MarkComma, "dot": MarkPoint}), []string{MarkPoint, MarkComma})
	case "thousands":
		return oneOf(&o.Thousands, name, aliasOf(value, map[string]string{".": MarkPoint, ",": MarkComma, "'": MarkSpace, MarkApostrophe: MarkSpace}), []string{MarkNone, MarkPoint, MarkComma, MarkSpace})
	case "date-order":
		return oneOf(&o.DateOrder, name, strings.ToLower(value), dateOrders)
	case "time":
		if _, _, err := timeOverride(value); err != nil {
			return err
		}
		o.Time = value
	case "skip":
		n, err := strconv.Atoi(value)
		if err != nil || n < 0 {
			return fmt.Errorf("skip %q: expected a number of lines, as in 3", value)
		}
		o.Skip = n
	case "spacing":
		if _, err := parseSpacing(value); err != nil {
			return err
		}
		o.Spacing = value
	case "start":
		if _, err := parseStart(value); err != nil {
			return err
		}
		o.Start = value
	case "missing":
		o.Missing = append(o.Missing, strings.ToLower(value))
	case "comment":
		o.Comment = value
	case "sheet":
		o.Sheet = value
	default:
		return fmt.Errorf("there is no import option %q", name)
	}
	return nil
}

// check repeats the checks of Set for an override that came in as a structure.
func (o Override) check() error {
	var fresh Override
	for _, kv := range [][2]string{{"encoding", o.Encoding}, {"separator", o.Separator}, {"decimal", o.Decimal},
		{"thousands", o.Thousands}, {"date-order", o.DateOrder}, {"time", o.Time}, {"spacing", o.Spacing}, {"start", o.Start}} {
		if kv[1] == "" {
			continue
		}
		if err := fresh.Set(kv[0], kv[1]); err != nil {
			return err
		}
	}
	if o.Decimal != "" && o.Decimal == o.Thousands {
		return fmt.Errorf("the decimal mark and the thousands mark are both %q", o.Decimal)
	}
	for _, n := range slices.Sorted(maps.Keys(o.Columns)) {
		c := o.Columns[n]
		if err := fresh.setColumn(fmt.Sprintf("%d=%s:%s", n, c.Role, c.Unit)); err != nil && c.Role != "" {
			return err
		}
		if _, known := timeForms[c.TimeForm]; c.TimeForm != "" && !known {
			return fmt.Errorf("column %d: there is no time form %q", n, c.TimeForm)
		}
	}
	return nil
}
