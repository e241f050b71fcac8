package store

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"database/sql"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"setwright/internal/receiver"
)

var regen = flag.Bool("regen", false, "write testdata/book-vN.db.gz of the present version again")

// fingerprint is a hash of all files in a folder, names included.
func fingerprint(t *testing.T, dir string) string {
	t.Helper()
	h := sha256.New()
	must(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		fmt.Fprintf(h, "%s %d\n", path, len(data))
		h.Write(data)
		return err
	}))
	return fmt.Sprintf("%x", h.Sum(nil))
}

// database makes an SQLite file with some statements.
func database(t *testing.T, path string, statements string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	must(t, err)
	_, err = db.Exec(statements)
	must(t, err)
	must(t, db.Close())
}

func TestStrangersAreLeftAsTheyAre(t *testing.T) {
	cases := []struct {
		name  string
		make  func(dir string)
		kind  error
		words string
	}{
		{"a folder with other things", func(dir string) {
			must(t, os.WriteFile(filepath.Join(dir, "letter.txt"), []byte("Dear Sir"), 0o644))
		}, ErrStranger, "letter.txt"},
		{"a database of another program", func(dir string) {
			database(t, filepath.Join(dir, dbName), "CREATE TABLE stamps (name TEXT); PRAGMA application_id=4711")
		}, ErrStranger, "another program"},
		{"a database without a mark", func(dir string) {
			database(t, filepath.Join(dir, dbName), "CREATE TABLE stamps (name TEXT)")
		}, ErrStranger, "another program"},
		{"no database at all", func(dir string) {
			must(t, os.WriteFile(filepath.Join(dir, dbName), bytes.Repeat([]byte("picture"), 100), 0o644))
		}, ErrStranger, "no SQLite database"},
		{"an empty file", func(dir string) {
			must(t, os.WriteFile(filepath.Join(dir, dbName), nil, 0o644))
		}, ErrStranger, "no SQLite database"},
		{"a newer book", func(dir string) {
			database(t, filepath.Join(dir, dbName), fmt.Sprintf("CREATE TABLE sets (id TEXT); PRAGMA application_id=%d; PRAGMA user_version=%d", applicationID, len(migrations())+1))
		}, ErrNewer, "newer program"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			c.make(dir)
			before := fingerprint(t, dir)
			for _, opt := range []Options{{}, {Create: true}, {ReadOnly: true}} {
				b, err := Open(ctx, dir, opt)
				if b != nil {
					t.Fatalf("%+v: opened", opt)
				}
				wantKind(t, err, c.kind, c.words, dir)
			}
			if fingerprint(t, dir) != before {
				t.Error("the folder was changed")
			}
		})
	}
}

func TestNoBookThere(t *testing.T) {
	dir := t.TempDir()
	for _, d := range []string{dir, filepath.Join(dir, "missing")} {
		_, err := Open(ctx, d, Options{})
		wantKind(t, err, ErrNotFound, "no book")
		_, err = Open(ctx, d, Options{ReadOnly: true, Create: true})
		wantKind(t, err, ErrNotFound, "no book")
	}
	file := filepath.Join(dir, "log.csv")
	must(t, os.WriteFile(file, []byte("1,2\n"), 0o644))
	_, err := Open(ctx, file, Options{Create: true})
	wantKind(t, err, ErrStranger, "is a file")
}

// TestMakingWasKilled: what a killed program left while making a book does not
// hinder the next one.
func TestMakingWasKilled(t *testing.T) {
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, dbName+".new-4711"), []byte("half"), 0o644))
	must(t, os.Mkdir(filepath.Join(dir, recordingsName), 0o755))
	furnish(t, openBook(t, dir, Options{Create: true}))
}

// TestSettingsOfEachConnection reads back what the opening function promises.
func TestSettingsOfEachConnection(t *testing.T) {
	b := newBook(t)
	for name, db := range map[string]*sql.DB{"writer": b.writer, "reader": b.reader} {
		for pragma, want := range map[string]string{"journal_mode": "wal", "foreign_keys": "1", "synchronous": "2", "busy_timeout": "10000", "application_id": fmt.Sprint(applicationID), "user_version": fmt.Sprint(len(migrations()))} {
			var got string
			must(t, db.QueryRow("PRAGMA "+pragma).Scan(&got))
			if got != want {
				t.Errorf("%s: %s is %s, expected %s", name, pragma, got, want)
			}
		}
	}
	if _, err := b.reader.Exec("DELETE FROM sets"); err == nil {
		t.Error("the reading handle can write")
	}
}

// TestOlderBookIsCopiedAndBroughtUpToDate adds a step that does not exist yet.
func TestOlderBookIsCopiedAndBroughtUpToDate(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	dir := b.Dir()
	must(t, b.Close())
	now := len(migrations())
	steps := append(migrations(), step{"next", "ALTER TABLE sets ADD COLUMN shelf TEXT; UPDATE sets SET shelf = 'north wall';"})

	_, err := openWith(ctx, dir, Options{ReadOnly: true}, steps)
	wantKind(t, err, ErrOlder, "once for writing")
	b, err = openWith(ctx, dir, Options{}, steps)
	must(t, err)
	var shelf string
	must(t, b.reader.QueryRow("SELECT shelf FROM sets").Scan(&shelf))
	must(t, b.Close())
	if shelf != "north wall" {
		t.Errorf("shelf %q", shelf)
	}
	// The old program is now refused, and the copy is the old book.
	_, err = Open(ctx, dir, Options{})
	wantKind(t, err, ErrNewer)
	old := t.TempDir()
	data, err := os.ReadFile(filepath.Join(dir, fmt.Sprintf("%s.before-v%d", dbName, now+1)))
	must(t, err)
	must(t, os.WriteFile(filepath.Join(old, dbName), data, 0o644))
	all, err := openBook(t, old, Options{}).Sets(ctx)
	if err != nil || len(all) != 1 || all[0].ID != "turnstone" {
		t.Errorf("the copy holds %v, %v", all, err)
	}
}

// TestFailedStepLeavesTheOldBook: the second statement of a step fails, or the
// step would leave entries without what they refer to.
func TestFailedStepLeavesTheOldBook(t *testing.T) {
	for name, text := range map[string]string{
		"wrong statement": "DELETE FROM states; CREATE NONSENSE;",
		"loose entries":   "DELETE FROM configurations;",
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(t)
			furnish(t, b)
			dir := b.Dir()
			must(t, b.Close())
			if _, err := openWith(ctx, dir, Options{}, append(migrations(), step{"next", text})); err == nil {
				t.Fatal("opened")
			}
			b = openBook(t, dir, Options{})
			states, err := b.States(ctx, "turnstone")
			if err != nil || len(states) != 1 {
				t.Errorf("states %v, %v", states, err)
			}
			if _, err := b.Configuration(ctx, "as-found"); err != nil {
				t.Error(err)
			}
		})
	}
}

// TestBooksOfEachVersion opens a book made by each version of the tables up to
// now (testdata/SOURCES.md) and finds in it what was put in.
func TestBooksOfEachVersion(t *testing.T) {
	for v := 1; v <= len(migrations()); v++ {
		path := filepath.Join("testdata", fmt.Sprintf("book-v%d.db.gz", v))
		if *regen && v == len(migrations()) {
			writeBook(t, path)
		}
		t.Run(filepath.Base(path), func(t *testing.T) {
			dir := t.TempDir()
			must(t, os.WriteFile(filepath.Join(dir, dbName), gunzip(t, path), 0o644))
			b := openBook(t, dir, Options{})
			wantSeries(t, b, "drift-1", glances())
			set, err := b.Set(ctx, "turnstone")
			must(t, err)
			changes, err := b.Changes(ctx, "set", "turnstone", 10)
			must(t, err)
			if set.Serial != "17" || len(changes) != 1 || changes[0].Reason != "read off the plate" {
				t.Errorf("set %+v with changes %+v", set, changes)
			}
			report, err := b.Verify(ctx)
			must(t, err)
			if len(report.Problems) > 0 {
				t.Error(report.Problems)
			}
		})
	}
}

// writeBook makes the book that later versions will be tested with.
func writeBook(t *testing.T, path string) {
	b := newBook(t)
	furnish(t, b)
	must(t, b.UpdateSet(ctx, receiver.Set{ID: "turnstone", Name: "Turnstone", Serial: "17"}, "read off the plate"))
	must(t, b.AddRun(ctx, driftRun("drift-1"), glances()))
	dir := b.Dir()
	must(t, b.Close())
	data, err := os.ReadFile(filepath.Join(dir, dbName))
	must(t, err)
	var out bytes.Buffer
	z, _ := gzip.NewWriterLevel(&out, gzip.BestCompression)
	_, err = z.Write(data)
	must(t, err)
	must(t, z.Close())
	must(t, os.WriteFile(path, out.Bytes(), 0o644))
}

func gunzip(t *testing.T, path string) []byte {
	f, err := os.Open(path)
	must(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	must(t, err)
	data, err := io.ReadAll(z)
	must(t, err)
	return data
}

// TestDamagedDatabase: a book whose pages were overwritten is an error with
// the kind, never a wrong reading.
func TestDamagedDatabase(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	must(t, b.AddRun(ctx, driftRun("drift-1"), longLog(50000)))
	path := filepath.Join(b.Dir(), dbName)
	must(t, b.Close())
	data, err := os.ReadFile(path)
	must(t, err)
	for i := 4096; i < len(data); i += 512 {
		data[i] ^= 0x5a
	}
	must(t, os.WriteFile(path, data, 0o644))
	b, err = Open(ctx, b.Dir(), Options{})
	if err == nil {
		defer b.Close()
		_, err = b.Series(ctx, "drift-1")
	}
	wantKind(t, err, ErrDamaged)
	if !strings.Contains(err.Error(), "damaged") && !strings.Contains(err.Error(), "readings of run") {
		t.Errorf("message %q", err)
	}
}
