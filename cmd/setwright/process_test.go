package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// program is the program itself, running beside the test.
type program struct {
	*exec.Cmd
	in   io.WriteCloser
	out  *bufio.Reader
	errs bytes.Buffer
}

// command is the program, not yet started: this test's own executable, which
// TestMain makes behave as the program when it is called by that name.
func command(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return &exec.Cmd{Path: self, Args: append([]string{"setwright"}, args...), Env: os.Environ()}
}

// start runs the program with its input and output in the test's hands.
func start(t *testing.T, args ...string) *program {
	t.Helper()
	p := &program{Cmd: command(t, args...)}
	p.Stderr = &p.errs
	var err error
	if p.in, err = p.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := p.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.out = bufio.NewReader(out)
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = p.Process.Kill(); _ = p.Wait() })
	return p
}

// line waits for a line of output that has the text.
func (p *program) line(t *testing.T, has string) string {
	t.Helper()
	for {
		s, err := p.out.ReadString('\n')
		if err != nil {
			t.Fatalf("no line with %q came: %v, it said %s", has, err, p.errs.String())
		}
		if strings.Contains(s, has) {
			return strings.TrimSpace(s)
		}
	}
}

// ended waits for the end and gives what is left.
func (p *program) ended(t *testing.T) said {
	t.Helper()
	rest, err := io.ReadAll(p.out)
	if err != nil {
		t.Fatal(err)
	}
	return said{status: statusOf(t, p.Wait()), out: string(rest), err: p.errs.String()}
}

// statusOf is the exit status of a program; −1 where it was killed.
func statusOf(t *testing.T, err error) int {
	t.Helper()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		return exit.ExitCode()
	}
	if err != nil {
		t.Fatal(err)
	}
	return exitDone
}

// longLog is an invented log of a counter that read every second.
func longLog(t *testing.T, rows int) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("elapsed (s),frequency (Hz)\n")
	for i := range rows {
		fmt.Fprintf(&b, "%d,%.1f\n", i, 8512300+2000*math.Exp(-float64(i)/1500)+float64(i*7919%10)/10)
	}
	return writeFile(t, t.TempDir(), "long.csv", b.String())
}

// importing starts the import of a long log and returns while it is under way:
// the file is copied, and its readings are being read.
func importing(t *testing.T, book, log string) *program {
	t.Helper()
	size := func() int64 {
		found, _ := filepath.Glob(filepath.Join(book, "recordings", ".incoming-*"))
		if len(found) == 0 {
			return -1
		}
		info, err := os.Stat(found[0])
		if err != nil {
			return -1
		}
		return info.Size()
	}
	info, err := os.Stat(log)
	if err != nil {
		t.Fatal(err)
	}
	p := start(t, "run", "import", "turnstone", log, "--book", book)
	for end := time.Now().Add(time.Minute); size() < info.Size(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("the import has not begun; it said %s", p.errs.String())
		}
	}
	return p
}

const longRows = 300_000

// TestKilledImport pulls the plug while a long log is imported: nothing of it is
// in the book, nothing is locked, the import works when it is done again, and
// what was left lying is swept up when it has grown old.
func TestKilledImport(t *testing.T) {
	t.Parallel()
	book, log := bookOfOne(t), longLog(t, longRows)
	p := importing(t, book, log)
	if err := p.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if s := p.ended(t); s.status != -1 || s.out != "" {
		t.Fatalf("it was not killed in the middle: status %d, said %s", s.status, s.out)
	}
	if got := keptIn(t, book); got.runs != 0 || got.files != 0 {
		t.Errorf("the book holds %+v", got)
	}
	if out := done(t, "set", "show", "turnstone", "--book", book); !strings.Contains(out, "no runs yet") {
		t.Errorf("the set shows %s", out)
	}
	if out := done(t, "run", "import", "turnstone", log, "--book", book); !strings.Contains(out, "300000 readings are in the book") {
		t.Errorf("said %s", out)
	}
	left, _ := filepath.Glob(filepath.Join(book, "recordings", ".incoming-*"))
	for _, path := range left {
		old := time.Now().Add(-48 * time.Hour)
		if err := os.Chtimes(path, old, old); err != nil {
			t.Fatal(err)
		}
	}
	done(t, "set", "list", "--book", book)
	if got := keptIn(t, book); got != (kept{runs: 1, files: 1, lying: 1}) {
		t.Errorf("the book holds %+v", got)
	}
}

// TestInterruptedImport is Ctrl-C meanwhile: a clear message, nothing stored,
// nothing left lying.
func TestInterruptedImport(t *testing.T) {
	book, log := bookOfOne(t), longLog(t, longRows)
	p := importing(t, book, log)
	interrupt(t, p)
	s := p.ended(t)
	if s.status != exitData || s.err != "setwright: stopped; nothing was left half done\n" {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	checkMessage(t, s)
	if got := keptIn(t, book); got != (kept{}) {
		t.Errorf("the book holds %+v", got)
	}
}

func interrupt(t *testing.T, p *program) {
	t.Helper()
	if err := p.Process.Signal(os.Interrupt); err != nil {
		t.Skipf("no Ctrl-C can be sent here (%v): stopping was not tried", err)
	}
}

// TestInterruptedAnalysis and its picture: none is written.
func TestInterruptedAnalysis(t *testing.T) {
	t.Parallel()
	log := longLog(t, longRows)
	picture := filepath.Join(t.TempDir(), "p.svg")
	p := start(t, "analyse", "drift", log, "--plot", picture)
	time.Sleep(200 * time.Millisecond)
	interrupt(t, p)
	s := p.ended(t)
	if s.status == -1 {
		t.Skip("Ctrl-C came before the program had begun: stopping was not tried")
	}
	if s.status != exitData || s.err != "setwright: stopped; nothing was left half done\n" {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	if left, _ := os.ReadDir(filepath.Dir(picture)); len(left) > 0 {
		t.Errorf("left lying: %v", left)
	}
}

// TestInterruptedTyping: Ctrl-C ends the typing, and what was typed is kept.
func TestInterruptedTyping(t *testing.T) {
	book := bookOfOne(t)
	p := start(t, "run", "type", "turnstone", "--book", book)
	p.line(t, "power-on now")
	for i, reading := range []string{"7065.3", "7065.4"} {
		fmt.Fprintln(p.in, reading)
		p.line(t, fmt.Sprintf("%d.", i+1))
	}
	interrupt(t, p)
	s := p.ended(t)
	if s.status != exitDone || !strings.HasPrefix(s.out, "2 readings are in the book as run turnstone-drift-") || s.err != "" {
		t.Errorf("status %d, said %s %s", s.status, s.out, s.err)
	}
	run := strings.TrimSuffix(s.out[strings.LastIndexByte(s.out, ' ')+1:], ".\n")
	if out := done(t, "run", "raw", run, "--csv", "--book", book); !strings.Contains(out, "7065.4") && !strings.Contains(out, "7065400") {
		t.Errorf("the run holds %s", out)
	}
}

// TestServerStops on Ctrl-C, and leaves no sign of being open.
func TestServerStops(t *testing.T) {
	book := bookOfOne(t)
	p := start(t, "serve", "--address", "127.0.0.1:0", "--book", book)
	url := strings.Fields(p.line(t, "The pages are at"))[4]
	answer, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	_ = answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		t.Errorf("the shelf has status %d", answer.StatusCode)
	}
	done(t, "set", "add", "Whimbrel", "--book", book) // beside the pages
	interrupt(t, p)
	if s := p.ended(t); s.status != exitDone || s.err != "" {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	if left, _ := filepath.Glob(filepath.Join(book, "book.open-*")); len(left) > 0 {
		t.Errorf("left lying: %v", left)
	}
}

// TestReaderLeaves: where the output goes to a program that has seen enough,
// there is nothing to complain about.
func TestReaderLeaves(t *testing.T) {
	log := writeFile(t, t.TempDir(), "log.csv", "t_s,f_hz\n0,7065300\n60,7065400\n120,7065450\n")
	for _, args := range [][]string{{"analyse", "drift", log}, {"analyse", "drift", log, "--json"}, {"demo", "--no-pages"}} {
		r, w, err := os.Pipe()
		if err != nil {
			t.Fatal(err)
		}
		_ = r.Close()
		c := command(t, args...)
		var errs bytes.Buffer
		passing := t.TempDir()
		c.Stdout, c.Stderr = w, &errs
		c.Env = append(c.Env, "TMPDIR="+passing)
		status := statusOf(t, c.Run())
		_ = w.Close()
		if status != exitData || errs.Len() > 0 {
			t.Errorf("%q: status %d, said %s", args, status, errs.String())
		}
		if left, _ := os.ReadDir(passing); len(left) > 0 {
			t.Errorf("%q: left lying: %v", args, left)
		}
	}
}

// TestLogThatGrows is imported while a counter still writes it.
func TestLogThatGrows(t *testing.T) {
	t.Parallel()
	book, log := bookOfOne(t), longLog(t, 300_000)
	f, err := os.OpenFile(log, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	next := 300_000
	for _, args := range [][]string{{"analyse", "drift", log}, {"run", "import", "turnstone", log, "--book", book}} {
		p := start(t, args...)
		over := make(chan said, 1)
		go func() { over <- p.ended(t) }()
		var s said
		for writing := true; writing; next++ {
			select {
			case s = <-over:
				writing = false
			case <-time.After(200 * time.Microsecond):
				fmt.Fprintf(f, "%d,8512300.0\n", next)
			}
		}
		if s.status != exitData || !strings.Contains(s.err, "long.csv: the file changed while it was read (") ||
			!strings.Contains(s.err, "; wait until the program that writes it has finished, or copy the file and import the copy") {
			t.Errorf("%s: status %d, said %s", args[0], s.status, s.err)
		}
		checkMessage(t, s)
	}
	if got := keptIn(t, book); got != (kept{}) {
		t.Errorf("the book holds %+v", got)
	}
	done(t, "run", "import", "turnstone", log, "--book", book)
}
