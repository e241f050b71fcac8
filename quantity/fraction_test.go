package quantity

import "testing"

func TestAFractionIsPrintedAsItIsSaid(t *testing.T) {
	for x, want := range map[float64]string{
		1. / 3: "a third", 0.333: "a third", 0.33: "33 %", 0.5: "half", 0.2: "a fifth", 0.15: "15 %", 0.4567: "45.7 %", 1: "100 %",
	} {
		if got := (Printer{}).Fraction(x); got != want {
			t.Errorf("Fraction(%g) = %q, want %q", x, got, want)
		}
	}
}
