package main

import (
	"context"
	"testing"

	"github.com/spf13/cobra"

	"setwright/internal/measure"
	"setwright/internal/measure/drift"
)

// hum is a second measurement with an option that drift has too and one of its
// own: the commands must take both from the registry, and know neither.
type hum struct{}

func (hum) About() measure.About {
	return measure.About{
		ID: "hum", Title: "Hum",
		Columns: []measure.ColumnSpec{{Role: "time", Unit: "s"}, {Role: "output", Title: "output", Unit: "V"}},
		Options: []measure.OptionSpec{{Name: "dial", Title: "dial", Unit: "Hz"}, {Name: "load", Title: "load", Unit: "Ω"}},
	}
}
func (hum) Next(measure.Raw) measure.Step { return measure.Step{Done: true} }
func (hum) Analyse(context.Context, measure.Raw, func(float64)) (measure.Analysis, error) {
	return measure.Analysis{}, nil
}

func TestRunCommandsTakeEveryMeasurement(t *testing.T) {
	registry, err := measure.NewRegistry([]measure.Measurement{drift.Measurement{}, hum{}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args    []string
		id      string
		option  string
		want    string
		refused bool
	}{
		{args: []string{"--dial", "7.9 MHz"}, id: "drift", option: "dial", want: "7.9 MHz"},
		{args: []string{"--measurement", "hum", "--dial", "1 MHz", "--load", "8 ohm"}, id: "hum", option: "load", want: "8 ohm"},
		{args: []string{"--measurement", "hum", "--dial", "1 MHz"}, id: "hum", option: "dial", want: "1 MHz"},
		{args: []string{"--load", "8 ohm"}, refused: true},
		{args: []string{"--measurement", "hum", "--off-time", "14 h"}, refused: true},
		{args: []string{"--measurement", "tides"}, refused: true},
		{args: []string{"--measurement", "hum", "--load", "heavy"}, refused: true},
	} {
		cmd := &cobra.Command{}
		chosen := measurementFlags(cmd, registry)
		if err := cmd.ParseFlags(c.args); err != nil {
			t.Fatalf("%q: %v", c.args, err)
		}
		about, options, err := chosen()
		if c.refused {
			if err == nil {
				t.Errorf("%q was taken", c.args)
			}
			continue
		}
		if err != nil || about.ID != c.id || options[c.option] != c.want {
			t.Errorf("%q: %s, options %v, %v", c.args, about.ID, options, err)
		}
	}
	if unit, err := typedUnit(hum{}.About(), ""); err != nil || unit != "V" {
		t.Errorf("bare readings of hum in %q, %v", unit, err)
	}
}
