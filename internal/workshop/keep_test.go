package workshop

import (
	"context"
	"strings"
	"testing"
	"time"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
)

// A plan is kept under its claim's name. A claim taken out gives its name to no
// other, or the new one would come with the plan of the old.
func TestNewClaimNeverTakesTheNameOfOneTakenOut(t *testing.T) {
	s := newShop(t)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Turnstone"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	m, err := s.AddModification(t.Context(), receiver.Modification{SetID: "turnstone", Title: "lid"})
	if err != nil {
		t.Fatal(err)
	}
	add := func() string {
		t.Helper()
		c, err := s.AddClaim(t.Context(), m.ID, receiver.Claim{Figure: "excursion", Direction: receiver.Smaller})
		if err != nil {
			t.Fatal(err)
		}
		return c.ID
	}
	first, second := add(), add()
	if err := s.DropClaim(t.Context(), first, ""); err != nil {
		t.Fatal(err)
	}
	third := add()
	if third == first || third == second {
		t.Errorf("claims %s and %s, then %s", first, second, third)
	}
	if err := s.Book.PutPlan(t.Context(), third, []byte("{}")); err != nil {
		t.Fatal(err)
	}
	if err := s.DropClaim(t.Context(), third, ""); err != nil {
		t.Fatal(err)
	}
	if fourth := add(); fourth == third {
		t.Errorf("a new claim is %s again, for which a plan is kept", fourth)
	}
}

// A set without a state could hold no run: it is taken in with one, or not at
// all.
func TestSetIsTakenInWithItsStateOrNotAtAll(t *testing.T) {
	s := newShop(t)
	ctx, stop := context.WithCancel(t.Context())
	clock := s.Clock
	s.Clock = func() time.Time { stop(); return clock() } // first asked for when the state is made
	if _, err := s.AddSet(ctx, receiver.Set{Name: "Whimbrel"}, time.Time{}); err == nil {
		t.Fatal("a set was taken in after the work was stopped")
	}
	s.Clock = clock
	if sets, err := s.Book.Sets(t.Context()); err != nil || len(sets) != 0 {
		t.Errorf("sets %v (%v)", sets, err)
	}
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Whimbrel"}, time.Time{}); err != nil {
		t.Errorf("a second time: %v", err)
	}
}

// A configuration whose state cannot be made is not left behind either.
func TestConfigurationComesWithItsStateOrNotAtAll(t *testing.T) {
	s := newShop(t)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Turnstone"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	clock := s.Clock
	s.Clock = func() time.Time { stop(); return clock() }
	if _, err := s.Configure(ctx, receiver.Configuration{SetID: "turnstone", Name: "lid on"}, receiver.State{}); err == nil {
		t.Fatal("a configuration was added after the work was stopped")
	}
	if all, err := s.Book.Configurations(t.Context(), "turnstone"); err != nil || len(all) != 1 {
		t.Errorf("configurations %v (%v)", all, err)
	}
}

// A row struck through on paper is in the book, and struck out there.
func TestCardIsStoredWithWhatWasStruckThrough(t *testing.T) {
	s := newShop(t)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Turnstone"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	r, err := s.EnterCard(t.Context(), CardEntry{NewRun: NewRun{State: "turnstone", Measurement: "drift"}, Unit: "kHz", Rows: []CardRow{
		{Time: "1", Values: map[string]string{"frequency": "7065.1"}},
		{Time: "2", Values: map[string]string{"frequency": "7056.2"}, Struck: true},
		{Time: "3", Values: map[string]string{"frequency": "7065.3"}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := s.Readings(t.Context(), r.ID, 0, 10)
	if err != nil || sheet.Total != 3 || !sheet.Rows[1].Struck || sheet.Rows[0].Struck || sheet.Rows[2].Struck {
		t.Errorf("readings %+v (%v)", sheet, err)
	}
}

// Who opens the bench and types nothing leaves no run to wonder about.
func TestTypingNothingLeavesNothingInSight(t *testing.T) {
	s := newShop(t)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Turnstone"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	for _, typed := range []int{0, 1} {
		r, err := s.StartTyping(t.Context(), NewRun{State: "turnstone", Measurement: "drift"}, "kHz")
		if err != nil {
			t.Fatal(err)
		}
		for range typed {
			if _, err := s.TypeReading(t.Context(), r.ID, "7065.3"); err != nil {
				t.Fatal(err)
			}
		}
		n, err := s.FinishTyping(t.Context(), r.ID)
		if err != nil || n != typed {
			t.Errorf("%d readings (%v), typed %d", n, err, typed)
		}
		if why, err := s.WhyHidden(t.Context(), r.ID); err != nil || (why == "") != (typed > 0) {
			t.Errorf("hidden because %q (%v) after %d readings", why, err, typed)
		}
		if kept, err := s.Book.Run(t.Context(), r.ID); err != nil || kept.Open {
			t.Errorf("run %+v (%v)", kept, err)
		}
	}
}

// Names of sets are in any alphabet.
func TestSentencesBeginWithACapitalOfAnyAlphabet(t *testing.T) {
	for text, want := range map[string]string{"östersjön": "Östersjön", "éole, as found": "Éole, as found", "": "", "50 Hz": "50 Hz", "σ": "Σ"} {
		if got := measure.Capital(text); got != want {
			t.Errorf("%q begins as %q", text, got)
		}
	}
	c := Comparison{A: Group{Name: "turnstone", Set: receiver.Set{ID: "a"}}, B: Group{Name: "östersjön", Set: receiver.Set{ID: "b"}},
		Rows: []ComparedFigure{{Spec: measure.FigureSpec{Title: "excursion"}, A: []run.Figure{{}}, B: []run.Figure{{}}}}}
	if got := c.sentences()[0]; !strings.HasPrefix(got, "Östersjön against turnstone") {
		t.Errorf("sentence %q", got)
	}
}

// Moments are typed as forms and people write them; what cannot be read is said.
func TestMomentsAreReadAsPeopleTypeThem(t *testing.T) {
	want := time.Date(2024, 2, 3, 7, 40, 0, 0, time.Local)
	for _, text := range []string{"2024-02-03 07:40", " 2024-02-03T07:40", "2024-02-03 07:40:00", "2024-02-03T07:40:00", want.Format(time.RFC3339)} {
		if got, err := ParseMoment(text); err != nil || !got.Equal(want) {
			t.Errorf("%q is %v (%v)", text, got, err)
		}
	}
	if got, err := ParseMoment(" "); err != nil || !got.IsZero() {
		t.Errorf("nothing is %v (%v)", got, err)
	}
	if _, err := ParseMoment("3rd of Feb"); err == nil || !strings.Contains(err.Error(), "3rd of Feb") {
		t.Errorf("error %v", err)
	}
}
