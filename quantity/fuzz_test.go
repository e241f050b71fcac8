package quantity

import (
	"encoding/json"
	"errors"
	"math"
	"testing"
)

// Whatever is typed: no panic, no number that is not finite, an error with its
// place, and a quantity printed again reads back as the same.
func FuzzParse(f *testing.F) {
	for _, row := range written {
		f.Add(row.text, row.wanted)
	}
	for _, text := range []string{"", "1,234", "7 mhz", "R", "4R", "e9", "(1", "5 ± ", "5±5±5", "1e-400", "1:2:3:4", "--5", "5'", "5 × 10", "99999999999999999999:00", "1d1d", "µ", "°", "0k0%"} {
		f.Add(text, "Hz")
		f.Add(text, "s")
		f.Add(text, "")
	}
	f.Fuzz(func(t *testing.T, text, wanted string) {
		q, err := parseRow(text, wanted)
		if err != nil {
			var e *ParseError
			if errors.As(err, &e) && (e.Pos < 1 || e.Expected == "" || e.Example == "") {
				t.Fatalf("%q as %q: error without place or advice: %v", text, wanted, err)
			}
			return
		}
		if !finite(q.Value) || !finite(q.Resolution) || q.Resolution < 0 || !finite(q.PlusMinus) || q.PlusMinus < 0 {
			t.Fatalf("%q as %q = %+v", text, wanted, q)
		}
		if q.Value == 0 && math.Signbit(q.Value) {
			t.Fatalf("%q as %q is minus nought", text, wanted)
		}
		printed := FormatNumber(q.Value, q.Unit)
		back, err := ParseAs(printed, q.Unit)
		if err != nil || math.Abs(back.Value-q.Value) > 1e-13*math.Abs(q.Value) {
			t.Fatalf("%q as %q = %v, printed %q, read back %v, %v", text, wanted, q.Value, printed, back.Value, err)
		}
	})
}

// Whatever stands in JSON: no panic, and what is accepted is written again as
// the same value.
func FuzzOutcomeJSON(f *testing.F) {
	f.Add(`{"kind":"value","value":1260,"u":35,"unit":"s","sources":[{"id":"a","name":"b","c":35,"dof":5}]}`)
	f.Add(`{"kind":"interval","lo":1,"hi":2}`)
	f.Add(`{"kind":"bound","bound":"more_than","value":2280,"ci":[1,2],"level":0.95}`)
	f.Add(`{"kind":"value","value":1e308,"sources":[{"id":"a","c":1e308},{"id":"b","c":1e308}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		var j OutcomeJSON
		if json.Unmarshal([]byte(text), &j) != nil {
			return
		}
		o, unit, err := j.Outcome()
		if err != nil {
			return
		}
		if !o.Value.Defined() {
			t.Fatalf("%s was read as %v", text, o.Value)
		}
		again, err := EncodeOutcome(o, unit)
		if err != nil {
			t.Fatalf("%s is read but not written: %v", text, err)
		}
		back, _, err := again.Outcome()
		if err != nil || back.Value.Sub(o.Value).U() != 0 || back.Value.Estimate() != o.Value.Estimate() {
			t.Fatalf("%s changes on its way: %v", text, err)
		}
		FormatOutcome(o, unit)
	})
}
