package intake

import (
	"strings"
	"testing"
)

// TestTableIsNoLog: where a time is welcome and not needed, a table without one
// gets none made up, unless somebody says how far its readings are apart.
func TestTableIsNoLog(t *testing.T) {
	timed := TimeColumn()
	timed.Required = false
	wanted := []ColumnSpec{timed, {ID: "position", Units: []string{"1"}, Required: true, Aliases: []string{"position"}},
		{ID: "beat", Units: []string{"Hz"}, Required: true, Aliases: []string{"beat"}}}
	src := BytesSource("bfo.csv", []byte("position,beat Hz\n0,-3200\n0,-3190\n10,3100\n10,3095\n"))
	for _, c := range []struct {
		over Override
		made bool
	}{{Override{}, false}, {Override{Spacing: "10s"}, true}} {
		p, err := Inspect(src, wanted, c.over)
		if err != nil {
			t.Fatal(err)
		}
		if made := p.Layout.SpacingS > 0; made != c.made {
			t.Errorf("%+v: spacing %v s (%s)", c.over, p.Layout.SpacingS, p.Layout.Spacing.Why)
		}
		for _, doubt := range p.Layout.Doubts() {
			if strings.Contains(doubt, "spacing") {
				t.Errorf("it doubts %q", doubt)
			}
		}
	}
}
