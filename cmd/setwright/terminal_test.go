package main

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"setwright/internal/store"
)

// said is what a command printed, and its exit status.
type said struct {
	status   int
	out, err string
}

// typed runs a command as the program does, with what is typed at it.
func typed(t *testing.T, input string, args ...string) said {
	t.Helper()
	var out, errs bytes.Buffer
	status := Main(t.Context(), args, strings.NewReader(input), &out, &errs)
	return said{status, out.String(), errs.String()}
}

// run runs a command that must be done.
func done(t *testing.T, args ...string) string {
	t.Helper()
	s := typed(t, "", args...)
	if s.status != exitDone {
		t.Fatalf("%q: status %d, said %s", args, s.status, s.err)
	}
	return s.out
}

// bookOfOne makes a book with one set in a folder of the test.
func bookOfOne(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "book")
	done(t, "set", "add", "Turnstone", "--book", dir)
	return dir
}

// kept is what a book holds: how many runs, files in the list, and files lying
// in its folder of recordings.
type kept struct{ runs, files, lying int }

func keptIn(t *testing.T, dir string) kept {
	t.Helper()
	book, err := store.Open(t.Context(), dir, store.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	var k kept
	runs, err := book.Runs(t.Context(), store.RunFilter{})
	if err != nil {
		t.Fatal(err)
	}
	k.runs = len(runs)
	files, err := book.Files(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	k.files = len(files)
	err = filepath.WalkDir(filepath.Join(dir, "recordings"), func(_ string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			k.lying++
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// unwell are marks of a message put together carelessly.
var unwell = regexp.MustCompile(`[.,;:]\s*[,;]|\. ;|;;|: :|found found|expected expected|\(s\)|%!|e\+0|<nil>|  `)

// checkMessage checks what all messages have in common: one line each, after
// the program's name, in lower case or with a name, well punctuated.
func checkMessage(t *testing.T, s said) {
	t.Helper()
	text, ok := strings.CutPrefix(s.err, "setwright: ")
	if !ok || !strings.HasSuffix(text, "\n") || strings.Count(s.err, "setwright: ") != 1 {
		t.Errorf("not one message of the program: %q", s.err)
	}
	if bad := unwell.FindString(text); bad != "" {
		t.Errorf("%q in the message: %s", bad, text)
	}
	if s.out != "" {
		t.Errorf("standard output has %q beside the message", s.out)
	}
}

func writeFile(t *testing.T, dir, name, data string) string {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, []byte(data), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}
