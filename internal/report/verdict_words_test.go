package report

import (
	"testing"

	"setwright/quantity"
)

// "More than three hours" less "more than three hours" is no number.
func TestADifferenceOpenBothWaysIsNotKnown(t *testing.T) {
	scale := quantity.ScaleFor([]float64{600}, "s")
	if got := side(quantity.Exact(0), quantity.Outcome{}, "s", scale); got != "not known" {
		t.Errorf("it is printed as %q", got)
	}
	if got := side(quantity.Exact(600), quantity.Known(quantity.Exact(600)), "s", scale); got != "10\u00a0min" {
		t.Errorf("a value is printed as %q", got)
	}
}
