package store

import (
	"fmt"
	"testing"

	"setwright/internal/receiver"
	"setwright/internal/run"
)

// TestTypingErrorsCanBeUndone: a set is changed by mistake and put back, a
// state is deleted and brought back, and the undoing is undone.
func TestTypingErrorsCanBeUndone(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	set, err := b.Set(ctx, "turnstone")
	must(t, err)
	wrong := set
	wrong.Name = "Turnstnoe"
	must(t, b.UpdateSet(ctx, wrong, ""))
	must(t, b.UpdateSet(ctx, wrong, "")) // no change, nothing is kept
	must(t, b.DeleteState(ctx, "spring", "wrong button"))
	_, err = b.State(ctx, "spring")
	wantKind(t, err, ErrNotFound)
	changes, err := b.Changes(ctx, "", "", 10)
	must(t, err)
	if len(changes) != 2 || changes[0].Action != ActionDelete || changes[0].Reason != "wrong button" || changes[1].Action != ActionChange || !changes[1].Made.Equal(clock()) {
		t.Fatalf("changes %+v", changes)
	}
	must(t, b.Restore(ctx, changes[1].ID))
	if got, err := b.Set(ctx, "turnstone"); err != nil || got.Name != "Turnstone" || len(got.Bands) != 1 {
		t.Errorf("the set came back as %+v, %v", got, err)
	}
	must(t, b.Restore(ctx, changes[0].ID))
	if got, err := b.State(ctx, "spring"); err != nil || !got.From.Equal(clock()) {
		t.Errorf("the state came back as %+v, %v", got, err)
	}
	last, err := b.Changes(ctx, "set", "turnstone", 1)
	must(t, err)
	must(t, b.Restore(ctx, last[0].ID))
	if got, err := b.Set(ctx, "turnstone"); err != nil || got.Name != "Turnstnoe" {
		t.Errorf("the undoing undone gave %+v, %v", got, err)
	}
	wantKind(t, b.Restore(ctx, 99), ErrNotFound)
}

// TestModificationWithClaims: claims come and go with their modification, and
// one in use cannot be deleted.
func TestModificationWithClaims(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	m := receiver.Modification{ID: "regulator", SetID: "turnstone", Title: "regulator", Claims: []receiver.Claim{{ID: "sooner", Figure: "settling_time"}}}
	must(t, b.AddModification(ctx, m))
	other := m
	other.ID = "fan"
	wantKind(t, b.AddModification(ctx, other), ErrExists, `claim "sooner"`)
	must(t, b.UpdateConfiguration(ctx, receiver.Configuration{ID: "as-found", SetID: "turnstone", Modifications: []string{"regulator"}}, ""))
	wantKind(t, b.DeleteModification(ctx, "regulator", ""), ErrInUse, `configuration "as-found"`)
	must(t, b.UpdateConfiguration(ctx, receiver.Configuration{ID: "as-found", SetID: "turnstone"}, ""))
	must(t, b.DeleteModification(ctx, "regulator", "found to be original"))
	_, _, err := b.Claim(ctx, "sooner")
	wantKind(t, err, ErrNotFound)
	changes, err := b.Changes(ctx, "modification", "regulator", 1)
	must(t, err)
	must(t, b.Restore(ctx, changes[0].ID))
	if c, _, err := b.Claim(ctx, "sooner"); err != nil || c.Figure != "settling_time" {
		t.Errorf("the claim came back as %+v, %v", c, err)
	}
}

// TestHeadingPutRight: the heading of a run can be put right, with a reason;
// how the readings came in and the readings stay.
func TestHeadingPutRight(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	must(t, b.AddRun(ctx, driftRun("r"), glances()))
	r, err := b.Run(ctx, "r")
	must(t, err)
	digest, err := b.SeriesDigest(ctx, "r")
	must(t, err)
	right := r
	right.Options = map[string]string{"horizon": "1 h"}
	right.Origin.How = "wire"
	wantKind(t, b.AmendRun(ctx, right, ""), ErrInvalid, "reason")
	must(t, b.AmendRun(ctx, right, "the set was switched off after an hour"))
	got, err := b.Run(ctx, "r")
	must(t, err)
	if got.Options["horizon"] != "1 h" || got.Origin.How != "typed" || !got.Entered.Equal(r.Entered) {
		t.Errorf("the heading is %+v", got)
	}
	if d, err := b.SeriesDigest(ctx, "r"); err != nil || d != digest {
		t.Errorf("digest %s, %v, expected %s", d, err, digest)
	}
	changes, err := b.Changes(ctx, "run", "r", 5)
	must(t, err)
	must(t, b.Restore(ctx, changes[0].ID))
	if got, err = b.Run(ctx, "r"); err != nil || got.Options["horizon"] != "2 h" {
		t.Errorf("put back: %+v, %v", got, err)
	}
}

func TestFiguresAreACache(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	must(t, b.AddRun(ctx, driftRun("r"), glances()))
	r, err := b.Run(ctx, "r")
	must(t, err)
	key := func(change func(r *run.Run, amendments *[]run.Amendment, method *string)) string {
		r, a, method := r, []run.Amendment{}, "drift/1"
		r.Setup.Instruments = append([]run.Instrument(nil), r.Setup.Instruments...)
		change(&r, &a, &method)
		k, err := FigureKey(method, "digest", r, a)
		must(t, err)
		return k
	}
	plain := key(func(*run.Run, *[]run.Amendment, *string) {})
	if same := key(func(r *run.Run, _ *[]run.Amendment, _ *string) { r.Title, r.Notes = "other", "words" }); same != plain {
		t.Error("the title changes the key")
	}
	for name, change := range map[string]func(*run.Run, *[]run.Amendment, *string){
		"method":      func(_ *run.Run, _ *[]run.Amendment, m *string) { *m = "drift/2" },
		"option":      func(r *run.Run, _ *[]run.Amendment, _ *string) { r.Options = map[string]string{"horizon": "1 h"} },
		"calibration": func(r *run.Run, _ *[]run.Amendment, _ *string) { r.Setup.Instruments[0].Relative = 2e-7 },
		"amendment": func(_ *run.Run, a *[]run.Amendment, _ *string) {
			*a = append(*a, run.Amendment{Kind: run.AmendStrike, Row: 1})
		},
	} {
		if key(change) == plain {
			t.Errorf("%s does not change the key", name)
		}
	}
	must(t, b.PutFigures(ctx, plain, "r", "drift/1", []byte(`{"figures":[]}`)))
	if doc, ok, err := b.Figures(ctx, plain); err != nil || !ok || string(doc) != `{"figures":[]}` {
		t.Errorf("got %s, %v, %v", doc, ok, err)
	}
	for i := range 3 * keptPerMethod {
		must(t, b.PutFigures(ctx, fmt.Sprint("key", i), "r", "drift/1", []byte("{}")))
	}
	var n int
	must(t, b.reader.QueryRow("SELECT COUNT(*) FROM figures").Scan(&n))
	if n > keptPerMethod+1 {
		t.Errorf("%d results kept, expected at most %d", n, keptPerMethod+1)
	}
	must(t, b.DropFigures(ctx))
	if _, ok, err := b.Figures(ctx, "key0"); ok || err != nil {
		t.Errorf("found after dropping: %v, %v", ok, err)
	}
	wantKind(t, b.PutFigures(ctx, "k", "none", "m", nil), ErrNotFound)
}
