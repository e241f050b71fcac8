package workshop

import (
	"math"
	"testing"

	"setwright/internal/measure"
	"setwright/internal/measure/audio"
	"setwright/internal/measure/sensitivity"
	"setwright/internal/run"
)

// Whoever typed 120 mV goes on with 130 and means millivolts, not volts.
func TestBareReadingIsInTheUnitTypedBefore(t *testing.T) {
	columns := (sensitivity.Measurement{}).About().TypedColumns()
	var got run.Series
	for _, text := range []string{"-97; 120 mV; 35 mV", "-92; 180; 36", "-87; 0.31 V; 37 mV"} {
		row, _, err := readRow(text, columns, "dBm", got, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range row.Columns {
			if before := got.Column(c.Role); before != nil {
				before.Values, before.Text = append(before.Values, c.Values...), append(before.Text, c.Text...)
				continue
			}
			got.Columns = append(got.Columns, c)
		}
	}
	for role, want := range map[string][]float64{"output_on": {0.120, 0.180, 0.31}, "output_off": {0.035, 0.036, 0.037}} {
		c := got.Column(role)
		for i, x := range want {
			if c == nil || math.Abs(c.Values[i]-x) > 1e-12 {
				t.Fatalf("%s: %+v, want %v V", role, c, want)
			}
		}
	}
}

// A distortion meter is read in per cents; nobody writes 0.05 for 5 %.
func TestBareDistortionIsInPerCents(t *testing.T) {
	for _, c := range (audio.Measurement{}).About().Columns {
		if c.Role != "distortion" {
			continue
		}
		for text, want := range map[string]float64{"5": 0.05, "5 %": 0.05, "0.7": 0.007} {
			cell, err := readCell(text, c, unitBefore(c, nil), nil)
			if err != nil || math.Abs(cell.Values[0]-want) > 1e-12 {
				t.Errorf("%s is read as %v, %v, want %g of the fundamental", text, cell.Values, err, want)
			}
		}
	}
	if c := (measure.ColumnSpec{Unit: "V"}); unitBefore(c, &run.Column{Unit: "V", Text: []string{"", "3"}}) != "V" {
		t.Error("bare readings only are no longer in the column's unit")
	}
}
