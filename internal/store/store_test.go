package store

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"setwright/internal/receiver"
	"setwright/internal/run"
)

var ctx = context.Background()

// clock is a fixed moment, so that what is stored can be compared.
func clock() time.Time { return time.Date(2026, 3, 7, 9, 30, 0, 0, time.UTC) }

// newBook makes a book in a temporary folder.
func newBook(t testing.TB) *Book {
	t.Helper()
	return openBook(t, filepath.Join(t.TempDir(), "book"), Options{Create: true})
}

func openBook(t testing.TB, dir string, opt Options) *Book {
	t.Helper()
	opt.Clock = clock
	b, err := Open(ctx, dir, opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// furnish puts an invented set, its configuration and a state into a book.
func furnish(t testing.TB, b *Book) {
	t.Helper()
	must(t, b.AddSet(ctx, receiver.Set{ID: "turnstone", Name: "Turnstone", IFHz: 455e3, Invented: true,
		Bands: []receiver.Band{{Name: "C", LowHz: 5.8e6, HighHz: 12e6, Injection: "high"}}}))
	must(t, b.AddConfiguration(ctx, receiver.Configuration{ID: "as-found", SetID: "turnstone", Name: "as found"}))
	must(t, b.AddState(ctx, receiver.State{ID: "spring", ConfigurationID: "as-found", SetID: "turnstone", Name: "spring", From: clock()}))
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// wantKind checks the kind of an error and that its sentence has some words.
func wantKind(t testing.TB, err, kind error, words ...string) {
	t.Helper()
	if !errors.Is(err, kind) {
		t.Fatalf("got error %v, expected %v", err, kind)
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("the message %q does not say %q", err, w)
		}
	}
}

func driftRun(id string) run.Run {
	return run.Run{ID: id, StateID: "spring", Measurement: "drift", Title: "cold morning", Started: clock(),
		Options: map[string]string{"horizon": "2 h", "ambient": "18.5 °C"},
		Setup:   run.Setup{Instruments: []run.Instrument{{ID: "counter-1", Name: "counter", Epoch: "2025-11", Reads: "frequency", Relative: 1e-7}}},
		Origin:  run.Origin{How: "typed"}}
}

// glances is a run as typed: a look at the clock, a look at the dial.
func glances() run.Series {
	return run.Series{Columns: []run.Column{
		{Role: "time", Unit: "s", Values: []float64{0, 600, 1200, 3600}, Text: []string{"0", "10 min", "20:00", "1 h"}, Resolution: 60},
		{Role: "frequency", Unit: "Hz", Values: []float64{7065900, 7065300, math.NaN(), 7065100}, Text: []string{"7.0659", "7.0653", "", "7.0651"}, Resolution: 100},
	}}
}

// sameSeries compares bit for bit.
func sameSeries(a, b run.Series) bool {
	if len(a.Columns) != len(b.Columns) {
		return false
	}
	for i, x := range a.Columns {
		y := b.Columns[i]
		if x.Role != y.Role || x.Unit != y.Unit || x.Resolution != y.Resolution || !reflect.DeepEqual(x.Text, y.Text) || len(x.Values) != len(y.Values) {
			return false
		}
		for j := range x.Values {
			if math.Float64bits(x.Values[j]) != math.Float64bits(y.Values[j]) {
				return false
			}
		}
	}
	return true
}

func wantSeries(t testing.TB, b *Book, id string, want run.Series) {
	t.Helper()
	got, err := b.Series(ctx, id)
	must(t, err)
	if !sameSeries(got, want) {
		t.Errorf("run %q came back as\n%v, expected\n%v", id, got, want)
	}
}

// TestBookKeepsEverything is the story of a book: a set comes in, a run is
// typed, the book is closed and opened again, and all is as it was.
func TestBookKeepsEverything(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	claims := []receiver.Claim{{ID: "settles-sooner", Figure: "settling_time", Direction: receiver.Smaller, Amount: 1. / 3, Relative: true, Words: "settles in two thirds of the time"}}
	must(t, b.AddModification(ctx, receiver.Modification{ID: "regulator", SetID: "turnstone", Title: "regulator for the oscillator", Claims: claims}))
	r := driftRun("drift-1")
	must(t, b.AddRun(ctx, r, glances()))
	must(t, b.AddAmendment(ctx, run.Amendment{ID: "a1", RunID: "drift-1", Kind: run.AmendStrike, Row: 1, Reason: "knocked the bench"}))
	must(t, b.SetAmount(ctx, Amount{Figure: "settling_time", Amount: 0.1, Relative: true, Reason: "nobody notices less"}))
	must(t, b.PutPlan(ctx, "settles-sooner", []byte(`{"runs":8}`)))
	must(t, b.PutSetting(ctx, "line_frequency", "50 Hz"))
	must(t, b.PutInstrument(ctx, r.Setup.Instruments[0]))
	must(t, b.Close())

	b = openBook(t, b.Dir(), Options{ReadOnly: true})
	set, err := b.Set(ctx, "turnstone")
	must(t, err)
	if set.Name != "Turnstone" || len(set.Bands) != 1 || set.Bands[0].HighHz != 12e6 {
		t.Errorf("the set came back as %+v", set)
	}
	got, err := b.Run(ctx, "drift-1")
	must(t, err)
	r.Entered = clock()
	if !reflect.DeepEqual(got, r) {
		t.Errorf("the run came back as\n%+v, expected\n%+v", got, r)
	}
	wantSeries(t, b, "drift-1", glances())
	a, err := b.Amendments(ctx, "drift-1")
	must(t, err)
	if len(a) != 1 || a[0].Reason != "knocked the bench" || !a[0].Made.Equal(clock()) {
		t.Errorf("the amendments came back as %+v", a)
	}
	c, m, err := b.Claim(ctx, "settles-sooner")
	must(t, err)
	if c.ModificationID != "regulator" || m.ID != "regulator" || c.Amount != 1./3 {
		t.Errorf("the claim came back as %+v of %+v", c, m)
	}
	amounts, err := b.Amounts(ctx)
	must(t, err)
	plan, err := b.Plan(ctx, "settles-sooner")
	must(t, err)
	setting, err := b.Setting(ctx, "line_frequency")
	must(t, err)
	bench, err := b.Instruments(ctx)
	must(t, err)
	if len(amounts) != 1 || amounts[0].Amount != 0.1 || string(plan) != `{"runs":8}` || setting != "50 Hz" || !reflect.DeepEqual(bench, r.Setup.Instruments) {
		t.Errorf("small things came back as %v, %s, %s, %v", amounts, plan, setting, bench)
	}
	wantKind(t, b.AddSet(ctx, receiver.Set{ID: "whimbrel"}), ErrReadOnly, "reading only")
	report, err := b.Verify(ctx)
	must(t, err)
	if len(report.Problems) > 0 || report.Runs != 1 || report.Readings != 4 {
		t.Errorf("verify found %+v", report)
	}
}

func TestFolderWithAwkwardName(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "Mein Buch? 100% #1 [µ]&x=1")
	b := openBook(t, dir, Options{Create: true})
	furnish(t, b)
	must(t, b.Close())
	b = openBook(t, dir, Options{})
	if all, err := b.Sets(ctx); err != nil || len(all) != 1 {
		t.Errorf("sets %v, error %v", all, err)
	}
	if _, err := os.Stat(filepath.Join(dir, dbName)); err != nil {
		t.Error(err)
	}
}

func TestEntriesThatDoNotFit(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	wantKind(t, b.AddSet(ctx, receiver.Set{ID: "turnstone"}), ErrExists, `set "turnstone"`)
	wantKind(t, b.AddSet(ctx, receiver.Set{ID: " x"}), ErrInvalid)
	wantKind(t, b.AddSet(ctx, receiver.Set{ID: "x", IFHz: math.NaN()}), ErrInvalid, "not finite")
	wantKind(t, b.UpdateSet(ctx, receiver.Set{ID: "x"}, ""), ErrNotFound)
	wantKind(t, b.AddConfiguration(ctx, receiver.Configuration{ID: "c", SetID: "x"}), ErrNotFound, `set "x"`)
	wantKind(t, b.AddConfiguration(ctx, receiver.Configuration{ID: "c", SetID: "turnstone", Modifications: []string{"m"}}), ErrNotFound, `modification "m"`)
	must(t, b.AddSet(ctx, receiver.Set{ID: "whimbrel", Name: "Whimbrel"}))
	wantKind(t, b.AddState(ctx, receiver.State{ID: "s", SetID: "whimbrel", ConfigurationID: "as-found"}), ErrNotFound, `configuration (of set "whimbrel") "as-found"`)
	wantKind(t, b.DeleteSet(ctx, "turnstone", ""), ErrInUse, "configurations")
	r := driftRun("r")
	r.StateID = "nowhere"
	wantKind(t, b.AddRun(ctx, r, glances()), ErrNotFound, `state "nowhere"`)
	r = driftRun("r")
	r.Origin.SHA256 = strings.Repeat("0", 64)
	wantKind(t, b.AddRun(ctx, r, glances()), ErrNotFound, "file")
	uneven := glances()
	uneven.Columns[1].Values = uneven.Columns[1].Values[:3]
	wantKind(t, b.AddRun(ctx, driftRun("r"), uneven), ErrInvalid, "3 values")
	twice := glances()
	twice.Columns[1].Role = "time"
	wantKind(t, b.AddRun(ctx, driftRun("r"), twice), ErrInvalid, `role "time"`)
	if _, err := b.Run(ctx, "r"); !errors.Is(err, ErrNotFound) {
		t.Errorf("a refused run left something: %v", err)
	}
	must(t, b.AddRun(ctx, driftRun("r"), glances()))
	wantKind(t, b.AddAmendment(ctx, run.Amendment{ID: "a", RunID: "r", Kind: run.AmendStrike, Row: 4, Reason: "x"}), ErrInvalid, "rows 1 to 4")
	wantKind(t, b.AddAmendment(ctx, run.Amendment{ID: "a", RunID: "q", Kind: run.AmendNote, Reason: "x"}), ErrNotFound)
	wantKind(t, b.SetAmount(ctx, Amount{Figure: "f", Amount: math.Inf(1), Reason: "x"}), ErrInvalid)
	wantKind(t, b.PutPlan(ctx, "none", []byte("{}")), ErrNotFound)
}

func TestRunsArePicked(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	late, early := driftRun("late"), driftRun("early")
	early.Started = early.Started.Add(-time.Hour)
	must(t, b.AddRun(ctx, late, glances()))
	must(t, b.AddRun(ctx, early, glances()))
	must(t, b.HideRun(ctx, "late", "wrong set on the bench"))
	ids := func(f RunFilter) (out string) {
		all, err := b.Runs(ctx, f)
		must(t, err)
		for _, r := range all {
			out += r.ID + " "
		}
		return out
	}
	for _, c := range []struct {
		f    RunFilter
		want string
	}{
		{RunFilter{}, "early "},
		{RunFilter{Hidden: true}, "early late "},
		{RunFilter{SetID: "turnstone", StateID: "spring", Measurement: "drift"}, "early "},
		{RunFilter{SetID: "whimbrel"}, ""},
		{RunFilter{Measurement: "sensitivity", Hidden: true}, ""},
	} {
		if got := ids(c.f); got != c.want {
			t.Errorf("%+v gave %q, expected %q", c.f, got, c.want)
		}
	}
	if why, err := b.Hidden(ctx, "late"); err != nil || why != "wrong set on the bench" {
		t.Errorf("hidden for %q, %v", why, err)
	}
	wantKind(t, b.HideRun(ctx, "early", " "), ErrInvalid, "reason")
	must(t, b.ShowRun(ctx, "late"))
	if got := ids(RunFilter{}); got != "early late " {
		t.Errorf("after showing: %q", got)
	}
}
