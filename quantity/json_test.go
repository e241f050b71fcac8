package quantity

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func through(t interface{ Fatal(...any) }, o Outcome, unit string) (Outcome, string) {
	j, err := EncodeOutcome(o, unit)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(j)
	if err != nil {
		t.Fatal(err)
	}
	var back OutcomeJSON
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	got, gotUnit, err := back.Outcome()
	if err != nil {
		t.Fatal(err)
	}
	return got, gotUnit
}

func drawOutcome(t *rapid.T) Outcome {
	v := drawValue(t, "v")
	switch rapid.SampledFrom([]Kind{KindValue, KindInterval, KindBound, KindCount, KindChoice}).Draw(t, "kind") {
	case KindInterval:
		return Between(v.Estimate(), rapid.Float64Range(-1e7, 1e7).Draw(t, "other end"))
	case KindBound:
		return rapid.SampledFrom([]Outcome{Above(v), Below(v)}).Draw(t, "bound")
	case KindCount:
		return Counted(rapid.IntRange(0, 1e6).Draw(t, "n"))
	case KindChoice:
		return Chosen("high side")
	}
	o := Known(v)
	if rapid.Bool().Draw(t, "uneven") {
		o.CI, o.Level = &[2]float64{v.Estimate() - v.U(), v.Estimate() + 3*v.U()}, 0.95
	}
	return o
}

func TestOutcomesSurviveJSONBitForBit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := drawOutcome(t)
		got, unit := through(t, o, "Hz")
		if unit != "Hz" || !reflect.DeepEqual(normal(got), normal(o)) {
			t.Fatalf("got %+v\nwant %+v", got, o)
		}
	})
}

// normal makes empty and absent contributions alike for comparison.
func normal(o Outcome) Outcome {
	if len(o.Value.parts) == 0 {
		o.Value.parts = nil
	}
	return o
}

// One counter, two runs stored on different days: read back, the error of its
// time base is still gone from their difference.
func TestStoredFiguresStillCancelWhatTheyShare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawValue(t, "a")
		back, _ := through(t, Known(a), "Hz")
		if d := a.Sub(back.Value); d.Estimate() != 0 || d.U() != 0 {
			t.Fatalf("a − (a through JSON) = %v ± %v", d.Estimate(), d.U())
		}
		var direct Value
		text, err := json.Marshal(a)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, &direct); err != nil {
			t.Fatal(err)
		}
		if d := a.Sub(direct); d.Estimate() != 0 || d.U() != 0 {
			t.Fatal("a value by itself does not survive")
		}
	})
}

func TestOutcomeJSONFields(t *testing.T) {
	v := New(1260, Contribution{Source{"run/7/noise", "noise", 5}, -21}, Contribution{Source{"instrument/clock-1", "clock", 0}, 28})
	j, err := EncodeOutcome(Known(v), "s")
	if err != nil {
		t.Fatal(err)
	}
	text, _ := json.Marshal(j)
	want := `{"kind":"value","value":1260,"u":35,"dof":38.58024691358025,"unit":"s","sources":[{"id":"instrument/clock-1","name":"clock","c":28},{"id":"run/7/noise","name":"noise","c":-21,"dof":5}]}`
	if string(text) != want {
		t.Errorf("got  %s\nwant %s", text, want)
	}
	for want, o := range map[string]Outcome{
		`{"kind":"interval","unit":"s","lo":1200,"hi":2400}`:                          Between(2400, 1200),
		`{"kind":"bound","value":2280,"unit":"s","bound":"more_than"}`:                Above(Exact(2280)),
		`{"kind":"count","value":3,"unit":"s"}`:                                       Counted(3),
		`{"kind":"choice","unit":"s","choice":"high side"}`:                           Chosen("high side"),
		`{"kind":"value","value":2,"u":0,"unit":"s","ci":[1,5],"level":0.95}`:         {Kind: KindValue, Value: Exact(2), CI: &[2]float64{1, 5}, Level: 0.95},
		`{"kind":"interval","value":1500,"unit":"s","lo":1200,"hi":2400,"level":0.9}`: {Kind: KindInterval, Value: Exact(1500), Lo: 1200, Hi: 2400, Level: 0.9},
	} {
		j, err := EncodeOutcome(o, "s")
		if err != nil {
			t.Fatal(err)
		}
		text, _ := json.Marshal(j)
		if string(text) != want {
			t.Errorf("got  %s\nwant %s", text, want)
		}
	}
}

func TestWhatJSONRefuses(t *testing.T) {
	for _, row := range []struct{ text, says string }{
		{`{"kind":"guess","value":1}`, "kind is"},
		{`{"kind":"value"}`, "without \"value\""},
		{`{"kind":"value","value":1,"u":2}`, "every uncertainty needs a source"},
		{`{"kind":"value","value":1,"u":2,"sources":[{"id":"x","c":1}]}`, "sources give 1"},
		{`{"kind":"value","value":1,"sources":[{"id":"x","c":1},{"id":"x","c":1}]}`, "twice"},
		{`{"kind":"value","value":1,"sources":[{"c":1}]}`, "no id"},
		{`{"kind":"value","value":1,"sources":[{"id":"x","c":1,"dof":0}]}`, "more than 0"},
		{`{"kind":"bound","value":1}`, "bound is"},
		{`{"kind":"interval","lo":3}`, "without"},
		{`{"kind":"interval","lo":3,"hi":2}`, "lower first"},
		{`{"kind":"choice"}`, "without"},
		{`{"kind":"value","value":1,"ci":[0,2]}`, "without \"level\""},
		{`{"kind":"value","value":1,"ci":[0,2],"level":95}`, "between 0 and 1"},
	} {
		var j OutcomeJSON
		if err := json.Unmarshal([]byte(row.text), &j); err != nil {
			t.Fatal(err)
		}
		if _, _, err := j.Outcome(); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: error %v, want one with %q", row.text, err, row.says)
		}
	}
}

func TestWhatIsNotFiniteIsNotWritten(t *testing.T) {
	inf := math.Inf(1)
	for name, o := range map[string]Outcome{
		"undefined": Known(Undefined()), "infinite": Known(Exact(inf)), "end": Between(0, inf),
		"c":  Known(New(1, Contribution{Source{ID: "x"}, math.NaN()})),
		"ci": {Kind: KindValue, CI: &[2]float64{0, inf}, Level: 0.95},
	} {
		if _, err := EncodeOutcome(o, "Hz"); err == nil {
			t.Errorf("%s was written", name)
		}
	}
}

func TestADoFOfNullIsInfinite(t *testing.T) {
	var v Value
	if err := json.Unmarshal([]byte(`{"value":5,"dof":null,"sources":[{"id":"x","c":3,"dof":null}]}`), &v); err != nil {
		t.Fatal(err)
	}
	if v.U() != 3 || !math.IsInf(v.DoF(), 1) {
		t.Errorf("u %v, dof %v", v.U(), v.DoF())
	}
}
