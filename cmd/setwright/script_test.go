package main

import (
	"errors"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// asProgram is what runs where a test's own executable is called by the program's
// name; where memory can be measured, it is measured.
var asProgram = main

// TestMain makes the program itself available to the scripts.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"setwright": func() { asProgram() },
	})
}

// TestScripts runs the stories in testdata/script: what a person types at a
// terminal, and what they then see.
func TestScripts(t *testing.T) {
	t.Parallel()
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script", RequireExplicitExec: true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "beat": beatFile, "cmp-tail": sameTail},
	})
}

// beatFile makes a file of raw samples: "beat FILE SECONDS".
func beatFile(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: beat FILE SECONDS")
	}
	seconds, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), beatNote(seconds), 0o644))
}

// sameTail compares the last bytes of two files: "cmp-tail A B BYTES".
func sameTail(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: cmp-tail A B BYTES")
	}
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	a, b := ts.ReadFile(args[0]), ts.ReadFile(args[1])
	if len(a) < n || len(b) < n || a[len(a)-n:] != b[len(b)-n:] {
		ts.Fatalf("the last %d bytes differ", n)
	}
}

// exits runs a program and checks its exit status: "exits 1 setwright ...".
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS PROGRAM ARGUMENT...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}
