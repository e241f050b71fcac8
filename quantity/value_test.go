package quantity

import "testing"

func TestSharedErrorsCancelInADifference(t *testing.T) {
	timebase := Source{ID: "instrument/counter-1/epoch-1/frequency", Name: "counter time base"}
	a := New(7_455_010, Contribution{timebase, 3.7})
	b := New(7_455_000, Contribution{timebase, 3.7})
	d := Combine(a.Estimate()-b.Estimate(), []Value{a, b}, []float64{1, -1})
	if d.Estimate() != 10 || d.U() != 0 {
		t.Fatalf("difference = %v ± %v, want 10 exactly", d.Estimate(), d.U())
	}
}
