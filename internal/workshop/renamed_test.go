package workshop_test

import (
	"strings"
	"testing"

	"setwright/internal/receiver"
	"setwright/internal/workshop"
	"setwright/internal/workshop/shoptest"
)

// A plan made before anyone soldered knows the set with the modification only
// by a name of its own making. Once it is in, under the name its owner gave,
// the plan counts those runs.
func TestPlanMadeBeforeSolderingCountsTheRunsMadeAfter(t *testing.T) {
	shop := shoptest.New(t)
	if _, err := shop.AddSet(t.Context(), receiver.Set{Name: "Turnstone", Invented: true}, shoptest.Now.AddDate(0, -1, 0)); err != nil {
		t.Fatal(err)
	}
	mod, err := shop.AddModification(t.Context(), receiver.Modification{SetID: "turnstone", Title: "Compensating pair",
		Claims: []receiver.Claim{{Figure: "excursion", Direction: receiver.Smaller, Amount: 0.5, Relative: true}}})
	if err != nil {
		t.Fatal(err)
	}
	slow := shoptest.Warmup{EndHz: 8_512_300, SlowHz: -1900, SlowS: 900, NoiseHz: 2}
	for i := range 2 {
		shoptest.Enter(t, shop, "turnstone", slow, shoptest.Sitting{On: shoptest.Now.AddDate(0, 0, i-20), Seed: uint64(i)})
	}
	before, err := shop.PlanClaim(t.Context(), mod.ID+"#1", workshop.PlanOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if before.Progress.DoneA != 2 || before.Progress.DoneB != 0 || before.Plan.NameB != "as found, Compensating pair" {
		t.Fatalf("before: %+v of %q", before.Progress, before.Plan.NameB)
	}
	fitted := shoptest.AddState(t, shop, receiver.Configuration{SetID: "turnstone", Name: "club pair in", Modifications: []string{mod.ID}}, shoptest.Now.AddDate(0, 0, -10))
	shoptest.Enter(t, shop, fitted.ID, slow, shoptest.Sitting{On: shoptest.Now.AddDate(0, 0, -9), Seed: 9})
	after, ok, err := shop.StoredPlan(t.Context(), mod.ID+"#1")
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	if after.Progress.DoneA != 2 || after.Progress.DoneB != 1 || after.Plan.NameB != "club pair in" {
		t.Errorf("after: %+v of %q", after.Progress, after.Plan.NameB)
	}
	if text := strings.Join(append(after.Plan.Order, after.Plan.Sentences...), " "); strings.Contains(text, "Compensating pair") {
		t.Errorf("the plan still speaks of %q", text)
	}
}
