//go:build unix

package main

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// fakePython writes an interpreter that has the modules named and no others.
func fakePython(t *testing.T, modules ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "python3")
	script := "#!/bin/sh\ncase \"$2\" in\n"
	for _, m := range modules {
		script += "\"import " + m + "\"*) echo 1.2.3; exit 0;;\n"
	}
	if err := os.WriteFile(path, []byte(script+"esac\nexit 1\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestMissingToolsAreNamedAsDebianDoes(t *testing.T) {
	bare := findPython([]string{fakePython(t, "sqlite3")})
	if got := missingLine(bare.missing([]string{"numpy"})); got != "not compared: python3-numpy is missing" {
		t.Errorf("got %q", got)
	}
	if got := missingLine(bare.missing([]string{"numpy", "scipy"})); got != "not compared: python3-numpy and python3-scipy are missing" {
		t.Errorf("got %q", got)
	}
	none := findPython([]string{filepath.Join(t.TempDir(), "nothing")})
	if got := missingLine(none.missing([]string{"sqlite3"})); got != "not compared: python3 is missing" {
		t.Errorf("got %q", got)
	}
}

func TestTheInterpreterWithMostModulesIsTaken(t *testing.T) {
	bare, full := fakePython(t, "sqlite3"), fakePython(t, "numpy", "scipy", "sqlite3")
	if p := findPython([]string{bare, full}); p.path != full || p.missing([]string{"numpy", "scipy"}) != nil {
		t.Errorf("took %+v, want %s", p, full)
	}
}

// shell is a process that runs a line of shell and prints to a file.
func shell(t *testing.T, line string) process {
	return process{args: []string{"/bin/sh", "-c", line}, save: filepath.Join(t.TempDir(), "out")}
}

func TestATimeCountsOnlyWhereFiguresAgree(t *testing.T) {
	w := workload{id: "X", title: "an invented task", tool: "sh", ours: shell(t, "echo 1"), theirs: shell(t, "echo 2"),
		aims: []aim{{wallRatio, 1000}, {peakMemory, 0}}}
	w.agree = func() (string, error) { return "1 value", nil }
	good := table{Entries: []entry{w.entry(nil, 3)}}
	if e := good.Entries[0]; e.Err != nil || len(e.Lines) != 2 || e.Lines[0].Met != "yes" || e.Lines[1].Met != "-" {
		t.Errorf("agreeing sides give %+v", e)
	}
	if err := good.Failure(); err != nil {
		t.Error(err)
	}
	w.agree = func() (string, error) { return "", errors.New("1 and 2") }
	bad := table{Entries: []entry{w.entry(nil, 3)}}
	if len(bad.Entries[0].Lines) != 0 || !errors.Is(bad.Failure(), errDiffer) {
		t.Errorf("differing sides give %+v", bad.Entries[0])
	}
	if !strings.Contains(bad.String(), "no ratio: figures differ: 1 and 2") {
		t.Errorf("the table does not say that figures differ:\n%s", bad)
	}
}

func TestAFailingSideSaysWhy(t *testing.T) {
	w := workload{id: "X", ours: shell(t, "echo no such readings >&2; exit 3"), theirs: shell(t, "true")}
	if e := w.entry(nil, 1); e.Err == nil || !strings.Contains(e.Err.Error(), "no such readings") {
		t.Errorf("got %v", e.Err)
	}
}

func TestAMissingToolIsALineNotAFailure(t *testing.T) {
	w := workload{id: "P1", tool: "NumPy"}
	e := w.entry([]string{"python3-numpy"}, 3)
	all := table{Entries: []entry{e, {ID: "P9", Tool: "x", Lines: []line{{"CPU", "0.2", "0.1 to 0.3", "<= 0.7x", "yes"}, {"wall", "1", "1 to 1", "-", "-"}, {"size", "1", "", "<= 9", "NO"}}}}}
	text := all.String()
	for _, want := range []string{"not compared: python3-numpy is missing", "1 of 2 aims met; 1 of 2 workloads without a ratio."} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if err := all.Failure(); err != nil {
		t.Error(err)
	}
}

func TestMeasureClearsWhatAnEarlierRunLeft(t *testing.T) {
	old := filepath.Join(t.TempDir(), "book")
	if err := os.MkdirAll(filepath.Join(old, "x"), 0o755); err != nil {
		t.Fatal(err)
	}
	p := shell(t, "test ! -e "+old)
	p.fresh = old
	u, err := p.measure()
	if err != nil {
		t.Fatal(err)
	}
	if u.wall <= 0 || u.peak <= 0 {
		t.Errorf("usage %+v: no wall time or no memory", u)
	}
}

func TestEveryWorkloadNamesToolsThatHaveAPackage(t *testing.T) {
	seen := map[string]bool{}
	for _, w := range workloads("out", "python3") {
		if seen[w.id] || len(w.aims) == 0 || w.agree == nil {
			t.Errorf("workload %q is there twice, or has no aims or no comparison", w.id)
		}
		seen[w.id] = true
		for _, m := range w.modules {
			if packages[m] == "" {
				t.Errorf("%s needs %q, which no package is known for", w.id, m)
			}
		}
		if w.program != "" {
			if w.theirs.args[0] != w.program || len(w.packages) == 0 {
				t.Errorf("%s needs %q from %q and runs %q", w.id, w.program, w.packages, w.theirs.args[0])
			}
			continue
		}
		if _, err := os.Stat(filepath.Join("..", "..", w.theirs.args[1])); err != nil {
			t.Errorf("%s: %v", w.id, err)
		}
	}
}
