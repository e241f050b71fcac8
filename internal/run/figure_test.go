package run

import (
	"encoding/json"
	"testing"

	"setwright/quantity"
)

// Two figures measured with one counter, kept in the book and read back on
// another day, must still lose the counter's error in their difference.
func TestFiguresReadBackStillCancelWhatTheyShare(t *testing.T) {
	timebase := quantity.Source{ID: "instrument/counter-1/2024/frequency", Name: "counter time base"}
	write := func(x, c float64) Figure {
		f := Figure{
			ID: "closing_frequency", Unit: "Hz", Method: "drift/1",
			Outcome:    quantity.Known(quantity.New(x, quantity.Contribution{Source: timebase, C: c})),
			Conditions: map[string]string{"oscillator": "local"},
			Details:    []Detail{Number("readings", "count", 3)},
		}
		data, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		var back Figure
		if err := json.Unmarshal(data, &back); err != nil {
			t.Fatal(err)
		}
		if back.Key("oscillator") != "closing_frequency[oscillator=local]" || back.Method != f.Method || len(back.Details) != 1 {
			t.Fatalf("read back as %+v", back)
		}
		return back
	}
	a, b := write(7_455_000.25, 3.7271), write(7_454_100.75, 3.7271)
	if d := a.Value.Sub(b.Value); d.Estimate() != 899.5 || d.U() != 0 {
		t.Errorf("difference %v ± %v, want 899.5 exactly", d.Estimate(), d.U())
	}
}

func TestRawDataStayAsTheyAreWhenAmended(t *testing.T) {
	raw := Series{Columns: []Column{
		{Role: "time", Unit: "s", Values: []float64{0, 60, 120}},
		{Role: "frequency", Unit: "Hz", Values: []float64{7455, 74550, 7456}, Text: []string{"7455", "74550", "7456"}},
	}}
	seen := Apply(raw, map[string]string{"oscillator": "local"}, []Amendment{
		{Kind: AmendStrike, Row: 1, Reason: "typed one digit too many"},
		{Kind: AmendScale, Role: "frequency", Factor: 1000, Reason: "readings are kHz"},
		{Kind: AmendOption, Role: "oscillator", Text: "set", Reason: "the beat note was watched"},
	})
	if got := seen.Series.Column("frequency").Values; len(got) != 2 || got[1] != 7456000 {
		t.Errorf("amended frequencies %v", got)
	}
	if seen.Rows[1] != 2 || seen.Options["oscillator"] != "set" || len(seen.Notes) != 3 {
		t.Errorf("amended view %+v", seen)
	}
	if raw.Columns[1].Values[0] != 7455 || raw.Len() != 3 {
		t.Errorf("raw data changed: %+v", raw)
	}
	restored := Apply(raw, nil, []Amendment{{Kind: AmendStrike, Row: 1}, {Kind: AmendRestore, Row: 1}})
	if restored.Series.Len() != 3 {
		t.Errorf("restored reading missing: %d rows", restored.Series.Len())
	}
}
