package shoptest

import (
	"testing"

	"setwright/internal/workshop"
	"setwright/judge"
)

// The story that other tests stand on must be the one it says it is.
func TestTheStoryIsAsTold(t *testing.T) {
	s := Told(t)
	rep, err := s.Shop.JudgeModification(t.Context(), s.Pair.ID, workshop.CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if rep.Comparison == nil || len(rep.Comparison.A.Results) != 3 || len(rep.Comparison.B.Results) != 3 {
		t.Fatalf("the pair is not judged on three runs a side: %+v", rep)
	}
	for _, c := range rep.Claims {
		if c.Verdict == nil || c.Verdict.Word != judge.Kept {
			t.Errorf("%s: %+v, want kept", c.Title, c.Verdict)
		}
	}
	c, err := s.Shop.Compare(t.Context(), "turnstone", "whimbrel", workshop.CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !c.Fairness.Blocked {
		t.Error("a local oscillator and a BFO can be compared")
	}
	row := c.Rows[0]
	a, b := c.Observed(row)
	if len(a) != len(row.A) || len(b) != len(row.B) {
		t.Errorf("observed %d and %d, compared %d and %d", len(a), len(b), len(row.A), len(row.B))
	}
}
