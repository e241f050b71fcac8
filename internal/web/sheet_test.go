package web

import (
	"math"
	"slices"
	"testing"

	"setwright/internal/run"
	"setwright/internal/workshop"
)

// A counter read every twenty seconds: times as a clock shows them, never thirds
// of a minute, and as many digits as the counter had.
func TestReadingsAreShownAsTheBenchShowedThem(t *testing.T) {
	for seconds, want := range map[float64]string{0: "0:00", 20: "0:20", 60: "1:00", 740.5: "12:20.5", 10780: "179:40", 59.9999: "1:00", -30: "−0:30"} {
		if got := minutesSeconds(seconds); got != want {
			t.Errorf("%g s is shown as %q, want %q", seconds, got, want)
		}
	}
	v := viewSheet(workshop.Sheet{
		Columns: []run.Column{{Role: "time", Unit: "s"}, {Role: "frequency", Unit: "Hz"}},
		Rows: []workshop.SheetRow{
			{Row: 0, Values: []float64{0, 8510410}}, {Row: 1, Values: []float64{20, 8510439.6}}, {Row: 2, Values: []float64{40, math.NaN()}},
		},
	}, "run")
	if v.Heads[0] != "Time, min:s" {
		t.Errorf("heads %q", v.Heads)
	}
	for i, want := range [][]string{{"0:00", "8.5104100"}, {"0:20", "8.5104396"}, {"0:40", ""}} {
		if !slices.Equal(v.Rows[i].Cells, want) {
			t.Errorf("row %d is %q, want %q", i, v.Rows[i].Cells, want)
		}
	}
}
