package store

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"setwright/internal/run"
)

// noise is a series that nothing can make shorter: 16 bytes a reading.
func noise(n int) run.Series {
	r := rand.New(rand.NewPCG(3, 4))
	x, y := make([]float64, n), make([]float64, n)
	for i := range n {
		x[i], y[i] = r.Float64(), r.NormFloat64()
	}
	return run.Series{Columns: []run.Column{{Role: "time", Unit: "s", Values: x}, {Role: "frequency", Unit: "Hz", Values: y}}}
}

// typeUntilFull appends 1000 readings at a time to a run until the disk is
// full, and returns how many were stored.
func typeUntilFull(t *testing.T, b *Book, all run.Series) (stored int) {
	t.Helper()
	for ; stored < all.Len(); stored += 1000 {
		if err := b.AppendReadings(ctx, "typed", part(all, stored, stored+1000)); err != nil {
			wantKind(t, err, ErrDiskFull, "full")
			return stored
		}
	}
	t.Fatal("the disk did not get full")
	return 0
}

// wantUnharmed checks what a full disk must leave: all that was stored, and
// nothing else.
func wantUnharmed(t *testing.T, b *Book, typed run.Series) {
	t.Helper()
	_, err := b.Run(ctx, "large")
	wantKind(t, err, ErrNotFound)
	wantSeries(t, b, "before", glances())
	if typed.Len() > 0 {
		wantSeries(t, b, "typed", typed)
	}
	report, err := b.Verify(ctx)
	must(t, err)
	if len(report.Problems) > 0 {
		t.Error(report.Problems)
	}
}

// TestDatabaseFull allows the database a few pages more and stores until it is
// full: the error says so, and the book holds what was stored before and
// nothing of what was not.
func TestDatabaseFull(t *testing.T) {
	b := openBook(t, bookWith(t), Options{})
	must(t, b.OpenRun(ctx, driftRun("typed")))
	var pages int
	must(t, b.writer.QueryRow("PRAGMA page_count").Scan(&pages))
	_, err := b.writer.Exec(fmt.Sprintf("PRAGMA max_page_count=%d", pages+20))
	must(t, err)
	err = b.AddRun(ctx, driftRun("large"), noise(20000))
	wantKind(t, err, ErrDiskFull, "full", "nothing of it was stored", `run "large"`)
	n := typeUntilFull(t, b, noise(20000))
	wantUnharmed(t, b, part(noise(20000), 0, n))
	_, err = b.writer.Exec("PRAGMA max_page_count=1000000")
	must(t, err)
	must(t, b.AddRun(ctx, driftRun("large"), noise(20000)))
}

// TestDiskFull does the same on a real file system of one megabyte.
func TestDiskFull(t *testing.T) {
	disk := smallDisk(t, "1m")
	fill := filepath.Join(disk, "fill") // room to be made later
	must(t, os.WriteFile(fill, make([]byte, 200<<10), 0o644))
	b := openBook(t, filepath.Join(disk, "book"), Options{Create: true})
	furnish(t, b)
	must(t, b.AddRun(ctx, driftRun("before"), glances()))
	must(t, b.OpenRun(ctx, driftRun("typed")))

	_, _, err := b.PutFile(ctx, bytes.NewReader(make([]byte, 2<<20)))
	wantKind(t, err, ErrDiskFull, "full")
	if left, err := os.ReadDir(filepath.Join(b.Dir(), recordingsName)); err != nil || len(left) > 0 {
		t.Errorf("left over: %v, %v", left, err)
	}
	err = b.AddRun(ctx, driftRun("large"), noise(100000))
	wantKind(t, err, ErrDiskFull, "full", "nothing of it was stored")
	wantUnharmed(t, b, run.Series{})
	all := noise(60000)
	n := typeUntilFull(t, b, all)
	wantUnharmed(t, b, part(all, 0, n))

	must(t, os.Remove(fill))
	must(t, b.AddRun(ctx, driftRun("large"), noise(1000)))
}
