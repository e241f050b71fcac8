package store

import (
	"context"
	"errors"
	"testing"
	"time"

	"setwright/internal/receiver"
	"setwright/internal/run"
)

// TestTogetherAllOrNothing takes in a whirl of entries as one: a set with its
// configuration and state, a run and an amendment of it.
func TestTogetherAllOrNothing(t *testing.T) {
	b := newBook(t)
	whole := func(ctx context.Context) error {
		return errors.Join(
			b.AddSet(ctx, receiver.Set{ID: "whimbrel", Name: "Whimbrel", Invented: true}),
			b.AddConfiguration(ctx, receiver.Configuration{ID: "w", SetID: "whimbrel"}),
			b.AddState(ctx, receiver.State{ID: "spring", SetID: "whimbrel", ConfigurationID: "w"}),
			b.AddRun(ctx, driftRun("r"), glances()),
			b.AddAmendment(ctx, run.Amendment{ID: "a", RunID: "r", Kind: run.AmendNote, Reason: "first run"}),
		)
	}
	wantNothing := func(when string) {
		t.Helper()
		if all, err := b.Sets(ctx); err != nil || len(all) != 0 {
			t.Errorf("%s: the book holds %v, %v", when, all, err)
		}
	}
	stop := errors.New("the owner thought better of it")
	err := b.Together(ctx, "taking in", func(ctx context.Context) error { return errors.Join(whole(ctx), stop) })
	if !errors.Is(err, stop) {
		t.Errorf("got %v", err)
	}
	wantNothing("stopped")
	err = b.Together(ctx, "taking in", func(ctx context.Context) error {
		must(t, whole(ctx))
		_ = b.AddSet(ctx, receiver.Set{ID: "whimbrel"}) // fails, and is not heeded
		return nil
	})
	wantKind(t, err, ErrExists)
	wantNothing("a call failed")
	err = b.Together(ctx, "taking in", func(ctx context.Context) error {
		must(t, whole(ctx))
		w, err := b.BeginRun(ctx, driftRun("half"))
		must(t, err)
		must(t, w.Append(longLog(10)))
		w.Abort()
		return nil
	})
	wantKind(t, err, ErrClosed)
	wantNothing("a run was given up")

	must(t, b.Together(ctx, "taking in", func(ctx context.Context) error {
		must(t, whole(ctx))
		wantNothing("not yet done") // as others see it
		s, err := b.Series(ctx, "r")
		must(t, err)
		if !sameSeries(s, glances()) {
			t.Errorf("within it the run reads %v", s)
		}
		return nil
	}))
	wantSeries(t, b, "r", glances())
}

// TestReadersSeeOneMoment: a reader that is half way through a run sees that
// run as it was, though more readings come and the run is closed and repacked.
func TestReadersSeeOneMoment(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	all := longLog(3*chunkRows + 77)
	must(t, b.OpenRun(ctx, driftRun("r")))
	for from := 0; from < 40000; from += 5000 {
		must(t, b.AppendReadings(ctx, "r", part(all, from, from+5000)))
	}
	rows := 0
	must(t, b.EachChunk(ctx, "r", func(first int, s run.Series) error {
		if first == 0 {
			must(t, b.AppendReadings(ctx, "r", part(all, 40000, all.Len())))
			must(t, b.CloseRun(ctx, "r"))
		}
		if !sameSeries(s, part(all, first, first+s.Len())) {
			t.Errorf("the chunk at row %d differs", first)
		}
		rows += s.Len()
		return nil
	}))
	if rows != 40000 {
		t.Errorf("it saw %d readings, expected 40000", rows)
	}
	wantSeries(t, b, "r", all)
	var chunks int
	must(t, b.reader.QueryRow("SELECT COUNT(*) FROM chunks").Scan(&chunks))
	if chunks != 4 {
		t.Errorf("%d chunks after closing, expected 4", chunks)
	}
}

func TestStoppedByContext(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	stopping, cancel := context.WithCancel(ctx)
	w, err := b.BeginRun(stopping, driftRun("r"))
	must(t, err)
	must(t, w.Append(longLog(20000)))
	must(t, w.flush())
	cancel()
	if err := w.Finish(); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	_, err = b.Run(ctx, "r")
	wantKind(t, err, ErrNotFound)
	late, cancel := context.WithTimeout(ctx, time.Nanosecond)
	defer cancel()
	if err := b.AddRun(late, driftRun("r"), glances()); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v", err)
	}
	must(t, b.AddRun(ctx, driftRun("r"), glances()))
}
