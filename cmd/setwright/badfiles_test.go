package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"setwright/internal/workshop/shoptest"
)

// TestBadFiles gives every bad log to "analyse" and to "import": one message,
// the same for both, exit status 1, and nothing in the book.
func TestBadFiles(t *testing.T) {
	book, dir := bookOfOne(t), t.TempDir()
	for _, bad := range shoptest.BadFiles() {
		t.Run(bad.Name, func(t *testing.T) {
			path := writeFile(t, dir, bad.Name, bad.Data)
			for name, s := range map[string]said{
				path:                typed(t, "", "analyse", "drift", path),
				filepath.Base(path): typed(t, "", "run", "import", "turnstone", path, "--book", book),
			} {
				text := strings.Replace(s.err, filepath.Dir(path)+string(filepath.Separator), "", 1)
				if s.status != exitData || text != "setwright: "+bad.Name+bad.Want+"\n" {
					t.Errorf("%s: status %d, said\n%swant\nsetwright: %s%s", name, s.status, text, bad.Name, bad.Want)
				}
				checkMessage(t, s)
			}
			if got := keptIn(t, book); got != (kept{}) {
				t.Errorf("the book holds %+v", got)
			}
		})
	}
}

// TestNotAFile names what is no log at all.
func TestNotAFile(t *testing.T) {
	book, dir := bookOfOne(t), t.TempDir()
	log := writeFile(t, dir, "log.csv", "t_s,f_hz\n0,7065300\n60,7065400\n")
	for path, want := range map[string]string{
		filepath.Join(dir, "lost.csv"): ": there is no such file; check the name and the folder",
		dir:                            ": found a directory, expected a file with readings; name the file inside it",
		"":                             "name of the file: found nothing, expected a file with readings",
		filepath.Join(log, "inside"):   ": the file cannot be opened: not a directory",
	} {
		for _, s := range []said{typed(t, "", "analyse", "drift", path), typed(t, "", "run", "import", "turnstone", path, "--book", book)} {
			if s.status != exitData || s.err != "setwright: "+path+want+"\n" {
				t.Errorf("status %d, said %s", s.status, s.err)
			}
			checkMessage(t, s)
		}
	}
	if got := keptIn(t, book); got != (kept{}) {
		t.Errorf("the book holds %+v", got)
	}
}

// TestManyFaultsAreOneMessage: ten places in full, then a count.
func TestManyFaultsAreOneMessage(t *testing.T) {
	log := "t_s,f_hz\n" + strings.Repeat("0,7065300\n", 40) + strings.Repeat("60,oops\n", 25)
	s := typed(t, "", "analyse", "drift", writeFile(t, t.TempDir(), "log.csv", log))
	lines := strings.Split(strings.TrimSpace(s.err), "\n")
	if s.status != exitData || len(lines) != 11 || lines[10] != "and 15 more like these" {
		t.Errorf("status %d, said\n%s", s.status, s.err)
	}
	checkMessage(t, s)
}

// TestSeveralLogsAreOneImport: of three logs the last is bad, so none is
// stored; put right, all are.
func TestSeveralLogsAreOneImport(t *testing.T) {
	book, dir := bookOfOne(t), t.TempDir()
	good := "t_s,f_hz\n0,7065300\n60,7065400\n120,7065450\n"
	a, b := writeFile(t, dir, "a.csv", good), writeFile(t, dir, "b.csv", strings.ReplaceAll(good, "70654", "70655"))
	c := writeFile(t, dir, "c.csv", good+"90,7065470\n")
	s := typed(t, "", "run", "import", "turnstone", a, b, c, "--book", book)
	if s.status != exitData || !strings.HasPrefix(s.err, "setwright: c.csv, line 5, column 1 (time): found a time 30 s before") {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	checkMessage(t, s)
	if got := keptIn(t, book); got != (kept{}) {
		t.Errorf("the book holds %+v", got)
	}
	writeFile(t, dir, "c.csv", good+"180,7065470\n")
	done(t, "run", "import", "turnstone", a, b, c, "--book", book)
	if got := keptIn(t, book); got != (kept{runs: 3, files: 3, lying: 3}) {
		t.Errorf("the book holds %+v", got)
	}
}

// TestRepeatedTimesAreKept with a warning, in the book too.
func TestRepeatedTimesAreKept(t *testing.T) {
	book := bookOfOne(t)
	log := writeFile(t, t.TempDir(), "twice.csv", "t_s,f_hz\n0,7065300\n60,7065400\n60,7065410\n120,7065450\n")
	for _, out := range []string{done(t, "analyse", "drift", log), done(t, "run", "import", "turnstone", log, "--book", book)} {
		if !strings.Contains(out, "1 row has the time of the row before (kept), first at line 4") {
			t.Errorf("no warning in\n%s", out)
		}
	}
	if out := done(t, "run", "import", "turnstone", log, "--book", book); !strings.Contains(out, "4 readings") {
		t.Errorf("said %s", out)
	}
}

// TestNamesWithSpacesAndAccents: files and books may be called anything.
func TestNamesWithSpacesAndAccents(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "Empfänger № 3 (alt) 100% é")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	book := filepath.Join(dir, "Buch?mode=ro#1 Ω")
	log := writeFile(t, dir, "Aufwärmen – 無線.csv", "t_s,f_hz\n0,7065300\n60,7065400\n120,7065450\n")
	picture := filepath.Join(dir, "Bild – Ω.svg")
	done(t, "set", "add", "Turnstone", "--book", book)
	if out := done(t, "run", "import", "turnstone", log, "--book", book); !strings.HasPrefix(out, "Aufwärmen – 無線.csv: 3 readings are in the book") {
		t.Errorf("said %s", out)
	}
	done(t, "analyse", "drift", log, "--plot", picture)
	if data, err := os.ReadFile(picture); err != nil || !strings.Contains(string(data), "</svg>") {
		t.Errorf("the picture: %v", err)
	}
	if got := keptIn(t, book); got != (kept{1, 1, 1}) {
		t.Errorf("the book holds %+v", got)
	}
}
