package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"setwright/internal/receiver"
	"setwright/internal/store"
)

// writing holds the one turn to write to a book until the function it returns
// is called.
func writing(t *testing.T, dir string) (end func()) {
	t.Helper()
	book, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	begun, leave, over := make(chan bool), make(chan bool), make(chan error, 1)
	go func() {
		over <- book.Together(context.Background(), "taking in a set", func(ctx context.Context) error {
			err := book.AddSet(ctx, receiver.Set{ID: "other", Name: "Other"})
			close(begun)
			<-leave
			return err
		})
	}()
	<-begun
	return func() {
		close(leave)
		if err := errors.Join(<-over, book.Close()); err != nil {
			t.Error(err)
		}
	}
}

// TestReadingBesideAWriter: while one program writes, others read.
func TestReadingBesideAWriter(t *testing.T) {
	book := bookOfOne(t)
	end := writing(t, book)
	out := done(t, "set", "list", "--book", book)
	end()
	if !strings.Contains(out, "Turnstone") || strings.Contains(out, "Other") {
		t.Errorf("it read %s", out)
	}
	if out := done(t, "set", "list", "--book", book); !strings.Contains(out, "Other") {
		t.Errorf("then it read %s", out)
	}
}

// TestTwoWriters: the second waits for its turn and gets it.
func TestTwoWriters(t *testing.T) {
	t.Parallel()
	book := bookOfOne(t)
	end := writing(t, book)
	p := start(t, "set", "add", "Whimbrel", "--book", book)
	time.Sleep(300 * time.Millisecond)
	end()
	if s := p.ended(t); s.status != exitDone {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	if out := done(t, "set", "list", "--book", book); !strings.Contains(out, "Whimbrel") || !strings.Contains(out, "Other") {
		t.Errorf("the shelf: %s", out)
	}
}

// TestWriterThatDoesNotEnd: after ten seconds the second gives up, says who is
// in the way, and has stored nothing.
func TestWriterThatDoesNotEnd(t *testing.T) {
	if testing.Short() {
		t.Skip("waits ten seconds")
	}
	t.Parallel()
	book := bookOfOne(t)
	end := writing(t, book)
	p := start(t, "set", "add", "Whimbrel", "--book", book)
	s := p.ended(t)
	end()
	if s.status != exitData || !strings.Contains(s.err, "another program has been writing to the book") ||
		!strings.Contains(s.err, fmt.Sprintf("process %d on ", os.Getpid())) || !strings.Contains(s.err, "nothing was stored, do it again when the other is done") {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	if out := done(t, "set", "list", "--book", book); strings.Contains(out, "Whimbrel") {
		t.Errorf("the shelf: %s", out)
	}
}
