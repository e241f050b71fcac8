package quantity

import "testing"

func TestATimeIsPrintedAsItIsSaid(t *testing.T) {
	for _, row := range []struct {
		seconds float64
		want    string
	}{
		{0, "0 s"},
		{13.5, "13.5 s"},
		{119.4, "119 s"},
		{119.6, "2 min"},
		{1810, "30 min 10 s"},
		{5400, "90 min"},
		{7199.7, "2 h"},
		{7650, "2 h 8 min"},
		{10780, "3 h"},
		{19981, "5 h 33 min"},
		{50400, "14 h"},
		{86399, "24 h"},
		{137000, "38 h"},
		{4 * 86400, "4 d"},
		{442800, "5 d 3 h"},
		{-1810, "−30 min 10 s"},
		{-30, "−30 s"},
	} {
		if got := (Printer{}).Elapsed(row.seconds); got != row.want {
			t.Errorf("Elapsed(%g) = %q, want %q", row.seconds, got, row.want)
		}
	}
}
