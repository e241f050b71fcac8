package main

import (
	"crypto/sha256"
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "modernc.org/sqlite"
)

// database runs SQL on a database file, which it makes.
func database(t *testing.T, path, script string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(script); err != nil {
		t.Fatal(err)
	}
}

// allBytes is a digest of everything in a folder.
func allBytes(t *testing.T, dir string) string {
	t.Helper()
	h := sha256.New()
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		fmt.Fprintf(h, "%s %d\n%s", path, len(data), data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("%x", h.Sum(nil))
}

// TestBooksThatAreNotOurs are refused by every kind of command and left as they
// are, byte for byte.
func TestBooksThatAreNotOurs(t *testing.T) {
	log := writeFile(t, t.TempDir(), "log.csv", "t_s,f_hz\n0,7065300\n60,7065400\n120,7065450\n")
	for _, c := range []struct {
		name string
		make func(dir string)
		want string
	}{
		{"folder of letters", func(dir string) { writeFile(t, dir, "letter.txt", "Dear Sir") }, "is no book and holds other things (letter.txt): give the book an empty folder of its own"},
		{"database of another program", func(dir string) {
			database(t, filepath.Join(dir, "book.db"), "PRAGMA application_id=77; CREATE TABLE sets (id TEXT)")
		}, "another program"},
		{"no database at all", func(dir string) { writeFile(t, dir, "book.db", strings.Repeat("not a database ", 100)) }, "book.db"},
		{"newer version", func(dir string) {
			done(t, "set", "add", "Turnstone", "--book", dir)
			database(t, filepath.Join(dir, "book.db"), "PRAGMA journal_mode=DELETE; PRAGMA user_version=99")
		}, "version 99"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			c.make(dir)
			before := allBytes(t, dir)
			for _, args := range [][]string{{"set", "list"}, {"set", "add", "Whimbrel"}, {"run", "import", "turnstone", log}, {"serve", "--address", "127.0.0.1:0"}, {"demo", "--no-pages"}} {
				s := typed(t, "", append(args, "--book", dir)...)
				if s.status != exitData || !strings.Contains(s.err, c.want) || !strings.Contains(s.err, dir) {
					t.Errorf("%q: status %d, said %s", args, s.status, s.err)
				}
				checkMessage(t, s)
			}
			if allBytes(t, dir) != before {
				t.Error("the folder was changed")
			}
		})
	}
	s := typed(t, "", "set", "list", "--book", log)
	if s.status != exitData || !strings.Contains(s.err, log) {
		t.Errorf("a file as book: status %d, said %s", s.status, s.err)
	}
	checkMessage(t, s)
}
