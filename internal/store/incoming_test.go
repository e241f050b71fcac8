package store

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// lying counts the files in the folder of recordings.
func lying(t *testing.T, b *Book) int {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(escapeGlob(b.Dir()), recordingsName, "*"))
	must(t, err)
	n := 0
	for _, path := range all {
		inside, err := os.ReadDir(path)
		if err != nil {
			n++ // a file
		}
		n += len(inside)
	}
	return n
}

// TestFileIsKeptWithItsRunOrNotAtAll: given up, stopped at the end, and as one
// of several that fail; then kept.
func TestFileIsKeptWithItsRunOrNotAtAll(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	taken := func() *Incoming {
		f, err := b.TakeIn(ctx, strings.NewReader("0,7065300\n60,7065400\n"))
		must(t, err)
		return f
	}
	begun := func(ctx context.Context, f *Incoming) *RunWriter {
		r := driftRun("r")
		r.Origin.SHA256, r.Origin.Name = f.SHA256, "log.csv"
		w, err := b.BeginRun(ctx, r)
		must(t, err)
		w.Keep(f, "log.csv")
		must(t, w.Append(glances()))
		return w
	}
	nothing := func(what string) {
		t.Helper()
		_, err := b.Run(ctx, "r")
		wantKind(t, err, ErrNotFound)
		if files, err := b.Files(ctx, ""); err != nil || len(files) != 0 || lying(t, b) != 0 {
			t.Errorf("%s: files %v, %d lying, %v", what, files, lying(t, b), err)
		}
	}
	f := taken()
	begun(ctx, f).Abort()
	f.Discard()
	nothing("given up")

	f = taken()
	stopping, stop := context.WithCancel(ctx)
	w := begun(stopping, f)
	must(t, w.flush())
	stop()
	if err := w.Finish(); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	f.Discard()
	nothing("stopped")

	f = taken()
	second := errors.New("the second log is bad")
	if err := b.Together(ctx, "importing", func(ctx context.Context) error {
		must(t, begun(ctx, f).Finish())
		return second
	}); !errors.Is(err, second) {
		t.Errorf("got %v", err)
	}
	f.Discard()
	nothing("with another that fails")

	f = taken()
	must(t, begun(ctx, f).Finish())
	f.Discard()
	if files, err := b.Files(ctx, "r"); err != nil || len(files) != 1 || files[0].Name != "log.csv" || lying(t, b) != 1 {
		t.Errorf("files %v, %d lying, %v", files, lying(t, b), err)
	}
	must(t, b.VerifyFile(ctx, f.SHA256))
}

// TestNextOpeningSweeps what a program killed at the very end left: a file in
// its place that the book does not know.
func TestNextOpeningSweeps(t *testing.T) {
	dir := bookWith(t)
	b := openBook(t, dir, Options{})
	unknown := b.filePath(strings.Repeat("ab", 32))
	must(t, os.MkdirAll(filepath.Dir(unknown), 0o755))
	must(t, os.WriteFile(unknown, []byte("half an import"), 0o644))
	sum, _, err := b.PutFile(ctx, strings.NewReader("known"))
	must(t, err)
	must(t, b.Close())
	must(t, openBook(t, dir, Options{}).Close())
	if _, err := os.Stat(unknown); err != nil {
		t.Error("swept while another may still be at it")
	}
	for _, path := range []string{unknown, b.filePath(sum)} {
		then := time.Now().Add(-2 * abandoned)
		must(t, os.Chtimes(path, then, then))
	}
	must(t, openBook(t, dir, Options{}).Close())
	if _, err := os.Stat(unknown); err == nil {
		t.Error("not swept when it was old")
	}
	if _, err := os.Stat(b.filePath(sum)); err != nil {
		t.Error("a known file was swept")
	}
}
