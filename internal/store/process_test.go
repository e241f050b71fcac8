package store

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"setwright/internal/run"
)

// The tests here start the test program again as another program at the same
// book. It does what helperEnv says, prints a line when it has got there and
// waits for its input to end, or to be killed.
const (
	helperEnv = "SETWRIGHT_STORE_HELPER"
	folderEnv = "SETWRIGHT_STORE_FOLDER"
)

func TestMain(m *testing.M) {
	if what := os.Getenv(helperEnv); what != "" {
		if err := help(what, os.Getenv(folderEnv)); err != nil {
			fmt.Println("error:", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// help is the other program.
func help(what, dir string) error {
	b, err := Open(ctx, dir, Options{ReadOnly: what == "read", Clock: clock, Wait: time.Minute})
	if err != nil {
		return err
	}
	switch what {
	case "import": // is in the middle of a large import
		w, err := b.BeginRun(ctx, driftRun("import"))
		if err != nil {
			return err
		}
		if err := w.Append(longLog(100000)); err != nil {
			return err
		}
		if err := w.flush(); err != nil {
			return err
		}
	case "type": // has typed three readings
		if err := b.OpenRun(ctx, driftRun("typed")); err != nil {
			return err
		}
		for i := range 3 {
			if err := b.AppendReadings(ctx, "typed", part(glances(), i, i+1)); err != nil {
				return err
			}
		}
	case "many": // stores readings until it is killed, saying how many stand
		if err := b.OpenRun(ctx, driftRun("typed")); err != nil {
			return err
		}
		for i := 0; ; i++ {
			if err := b.AppendReadings(ctx, "typed", part(longLog(1000), i, i+1)); err != nil {
				return err
			}
			fmt.Println(i + 1)
		}
	case "file": // is in the middle of taking in a file
		go b.PutFile(ctx, io.MultiReader(strings.NewReader("first half"), os.Stdin))
		for {
			if all, _ := filepath.Glob(filepath.Join(dir, recordingsName, incomingPrefix+"*")); len(all) > 0 {
				break
			}
		}
	case "record": // records until it is killed, saying how many blocks are written
		w, err := b.BeginRecording(ctx, beatRecording("recorded"))
		if err != nil {
			return err
		}
		if err := errors.Join(w.Note(run.Capture{Path: "standard input"}), w.Mark(run.Mark{Frame: 1})); err != nil {
			return err
		}
		for i := 0; ; i++ {
			if err := w.Append(beat(480*i, 480)); err != nil {
				return err
			}
			fmt.Println(i + 1)
		}
	case "read":
		s, err := b.Series(ctx, "before")
		if err != nil {
			return err
		}
		fmt.Println("readings", s.Len())
		return nil
	case "write": // waits for its turn
		fmt.Println("ready")
		return b.AddRun(ctx, driftRun("other"), glances())
	}
	fmt.Println("ready")
	_, err = io.Copy(io.Discard, os.Stdin)
	return err
}

// program is another program at the book.
type program struct {
	cmd *exec.Cmd
	in  io.WriteCloser
	out *bufio.Reader
}

func start(t *testing.T, what, dir string) *program {
	t.Helper()
	self, err := os.Executable()
	must(t, err)
	p := &program{cmd: exec.Command(self)}
	p.cmd.Env = append(os.Environ(), helperEnv+"="+what, folderEnv+"="+dir)
	p.in, err = p.cmd.StdinPipe()
	must(t, err)
	out, err := p.cmd.StdoutPipe()
	must(t, err)
	p.out = bufio.NewReader(out)
	must(t, p.cmd.Start())
	t.Cleanup(func() { p.in.Close(); p.cmd.Process.Kill(); p.cmd.Wait() })
	return p
}

// line is the next line the program prints.
func (p *program) line(t *testing.T) string {
	t.Helper()
	s, err := p.out.ReadString('\n')
	if err != nil {
		t.Fatalf("the other program said %q, %v", s, err)
	}
	return strings.TrimSpace(s)
}

func (p *program) expect(t *testing.T, want string) {
	t.Helper()
	if got := p.line(t); got != want {
		t.Fatalf("the other program said %q, expected %q", got, want)
	}
}

// kill ends the program as a pulled plug would (for the book; what the system
// has not yet written to the disk is not tested here).
func (p *program) kill(t *testing.T) {
	t.Helper()
	must(t, p.cmd.Process.Kill())
	p.cmd.Wait()
}

// bookWith is a closed book with one run in it.
func bookWith(t *testing.T) string {
	t.Helper()
	b := newBook(t)
	furnish(t, b)
	must(t, b.AddRun(ctx, driftRun("before"), glances()))
	must(t, b.Close())
	return b.Dir()
}

func TestKilledImportLeavesNothingAndLosesNothing(t *testing.T) {
	dir := bookWith(t)
	p := start(t, "import", dir)
	p.expect(t, "ready")
	p.kill(t)
	b := openBook(t, dir, Options{Wait: time.Second})
	_, err := b.Run(ctx, "import")
	wantKind(t, err, ErrNotFound)
	wantSeries(t, b, "before", glances())
	must(t, b.AddRun(ctx, driftRun("import"), longLog(100))) // nothing is locked
	report, err := b.Verify(ctx)
	must(t, err)
	if len(report.Problems) > 0 {
		t.Error(report.Problems)
	}
}

func TestKilledWhileTyping(t *testing.T) {
	dir := bookWith(t)
	p := start(t, "type", dir)
	p.expect(t, "ready")
	p.kill(t)
	b := openBook(t, dir, Options{})
	wantSeries(t, b, "typed", part(glances(), 0, 3))
	must(t, b.AppendReadings(ctx, "typed", part(glances(), 3, 4)))
	must(t, b.CloseRun(ctx, "typed"))
	wantSeries(t, b, "typed", glances())
}

// TestKilledAtAnyMoment kills a program that stores reading after reading: all
// it said were stored are there, at most one more, and all are whole.
func TestKilledAtAnyMoment(t *testing.T) {
	for _, after := range []int{1, 7, 40} {
		dir := bookWith(t)
		p := start(t, "many", dir)
		said := 0
		for said < after {
			_, err := fmt.Sscan(p.line(t), &said)
			must(t, err)
		}
		must(t, p.cmd.Process.Kill())
		for { // what it managed to say before it died
			s, err := p.out.ReadString('\n')
			if err != nil {
				break
			}
			_, err = fmt.Sscan(s, &said)
			must(t, err)
		}
		p.cmd.Wait()
		b := openBook(t, dir, Options{})
		n, err := b.Readings(ctx, "typed")
		must(t, err)
		if n < said || n > said+1 {
			t.Errorf("%d readings, it said %d", n, said)
		}
		wantSeries(t, b, "typed", part(longLog(1000), 0, n))
	}
}

func TestKilledWhileTakingInAFile(t *testing.T) {
	dir := bookWith(t)
	p := start(t, "file", dir)
	p.expect(t, "ready")
	p.kill(t)
	incoming := func() int {
		all, err := filepath.Glob(filepath.Join(dir, recordingsName, incomingPrefix+"*"))
		must(t, err)
		return len(all)
	}
	b := openBook(t, dir, Options{})
	if files, err := b.Files(ctx, ""); err != nil || len(files) != 0 {
		t.Errorf("files %v, %v", files, err)
	}
	must(t, b.Close())
	if incoming() != 1 {
		t.Fatalf("%d files being taken in, expected that of the killed program: another may still be writing", incoming())
	}
	all, _ := filepath.Glob(filepath.Join(dir, recordingsName, incomingPrefix+"*"))
	old := time.Now().Add(-2 * abandoned)
	must(t, os.Chtimes(all[0], old, old))
	openBook(t, dir, Options{})
	if incoming() != 0 {
		t.Error("what the killed program left was not swept up after its time")
	}
}

// TestTwoProgramsAtOneBook: while another program imports, this one reads,
// waits when it wants to write, and says who is in the way.
func TestTwoProgramsAtOneBook(t *testing.T) {
	dir := bookWith(t)
	p := start(t, "import", dir)
	p.expect(t, "ready")
	b := openBook(t, dir, Options{Wait: 50 * time.Millisecond})
	wantSeries(t, b, "before", glances())
	start(t, "read", dir).expect(t, "readings 4")
	err := b.AddRun(ctx, driftRun("mine"), glances())
	wantKind(t, err, ErrBusy, "another program", fmt.Sprintf("process %d", p.cmd.Process.Pid), "nothing was stored")
	_, err = b.Run(ctx, "mine")
	wantKind(t, err, ErrNotFound)
	p.kill(t)
	must(t, b.AddRun(ctx, driftRun("mine"), glances()))
}

// TestWriterWaitsForAnother: a program that is willing to wait gets its turn.
func TestWriterWaitsForAnother(t *testing.T) {
	dir := bookWith(t)
	b := openBook(t, dir, Options{})
	w, err := b.BeginRun(ctx, driftRun("import"))
	must(t, err)
	must(t, w.Append(longLog(1000)))
	must(t, w.flush())
	p := start(t, "write", dir)
	p.expect(t, "ready")
	must(t, w.Finish())
	must(t, p.cmd.Wait())
	for _, id := range []string{"before", "import", "other"} {
		if _, err := b.Run(ctx, id); err != nil {
			t.Error(err)
		}
	}
}

// TestTwoWritersInOneProgram: while this program imports, another of its own
// writes waits and then says what is in the way.
func TestTwoWritersInOneProgram(t *testing.T) {
	b := openBook(t, bookWith(t), Options{Wait: 20 * time.Millisecond})
	w, err := b.BeginRun(ctx, driftRun("import"))
	must(t, err)
	must(t, b.PutSetting(ctx, "a", "b")) // nothing is held yet
	must(t, w.Append(longLog(1000)))
	must(t, w.flush())
	wantKind(t, b.PutSetting(ctx, "a", "c"), ErrBusy, `storing run "import"`)
	must(t, w.Finish())
	must(t, b.PutSetting(ctx, "a", "d"))
}

// TestNoticesOfTheDead: a killed program leaves its notice; it locks nothing
// and the next to open the book removes it.
func TestNoticesOfTheDead(t *testing.T) {
	dir := bookWith(t)
	p := start(t, "type", dir)
	p.expect(t, "ready")
	p.kill(t)
	notice := filepath.Join(dir, fmt.Sprint(noticePrefix, p.cmd.Process.Pid))
	if _, err := os.Stat(notice); err != nil {
		t.Fatal(err)
	}
	b := openBook(t, dir, Options{})
	if _, err := os.Stat(notice); err == nil && processAlive(os.Getpid()) {
		t.Error("the notice is still there")
	}
	must(t, b.Close())
	if all, _ := filepath.Glob(filepath.Join(dir, noticePrefix+"*")); len(all) != 0 {
		t.Errorf("left over: %v", all)
	}
}
