package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"setwright/internal/store"
)

// smallDisk mounts a file system of a given size in memory, or skips the test
// where that is not permitted.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size="+size); err != nil {
		t.Skipf("no file system can be mounted here (%v): a full disk was not tried", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(dir, syscall.MNT_DETACH) })
	return dir
}

// fill leaves so many bytes free on a small disk.
func fill(t *testing.T, disk string, free int64) string {
	t.Helper()
	var s syscall.Statfs_t
	if err := syscall.Statfs(disk, &s); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(disk, "filling")
	if err := os.WriteFile(path, make([]byte, int64(s.Bavail)*s.Bsize-free), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestDiskFillsUpWhileImporting: the log does not fit, or it does and its
// readings do not. Nothing of it is stored, and with room made it is.
func TestDiskFillsUpWhileImporting(t *testing.T) {
	disk := smallDisk(t, "8m")
	book, log := filepath.Join(disk, "book"), longLog(t, 60_000)
	done(t, "set", "add", "Turnstone", "--book", book)
	info, err := os.Stat(log)
	if err != nil {
		t.Fatal(err)
	}
	for _, free := range []int64{info.Size() / 2, info.Size() + 8<<10} {
		filling := fill(t, disk, free)
		s := typed(t, "", "run", "import", "turnstone", log, "--book", book)
		if s.status != exitData || !strings.Contains(s.err, "the disk that holds "+book+" is full; nothing of it was stored, make room and do it again") {
			t.Errorf("%d bytes free: status %d, said %s", free, s.status, s.err)
		}
		if got := keptIn(t, book); got != (kept{}) {
			t.Errorf("%d bytes free: the book holds %+v", free, got)
		}
		if err := os.Remove(filling); err != nil {
			t.Fatal(err)
		}
	}
	done(t, "run", "import", "turnstone", log, "--book", book)
	if got := keptIn(t, book); got != (kept{1, 1, 1}) {
		t.Errorf("the book holds %+v", got)
	}
}

// TestDiskFillsUpWhileListening: the recording ends, and what came is stored on
// the disk that is still full.
func TestDiskFillsUpWhileListening(t *testing.T) {
	disk := smallDisk(t, "8m")
	book, note := filepath.Join(disk, "book"), beatNote(30)
	done(t, "set", "add", "Turnstone", "--book", book)
	fill(t, disk, 2<<20)
	s := typed(t, string(note), toBook(book)...)
	if s.status != exitData || !strings.Contains(s.err, "the disk that holds "+book+" is full; the recording was ended, what came until then is kept") {
		t.Errorf("status %d, said %s%s", s.status, s.out, s.err)
	}
	all, unfinished, opened := recorded(t, book)
	if len(all) != 1 || len(unfinished) != 0 || all[0].Frames < 240_000 || !all[0].Capture.Cut {
		t.Fatalf("%+v, %+v", all, unfinished)
	}
	wantSamples(t, opened, all[0], note)
}

// TestNoRoomForPictures, reports, cards and raw data: what stood there before
// still stands there, and nothing beside it.
func TestNoRoomForPictures(t *testing.T) {
	t.Parallel()
	disk, book := smallDisk(t, "1m"), bookOfOne(t)
	log := longLog(t, 2000)
	done(t, "run", "import", "turnstone", log, "--book", book)
	runs := done(t, "set", "show", "turnstone", "--book", book)
	run := runs[strings.Index(runs, "turnstone-drift-"):]
	run = run[:strings.IndexByte(run, ' ')]
	fill(t, disk, 8<<10)
	for _, c := range []struct {
		name string
		args []string
	}{
		{"p.svg", []string{"analyse", "drift", log, "--plot"}},
		{"p.png", []string{"run", "show", run, "--plot"}},
		{"report.html", []string{"report", "turnstone", "-o"}},
		{"card.html", []string{"bench", "card", "drift", "-o"}},
		{"raw.csv", []string{"run", "raw", run, "-o"}},
	} {
		path := writeFile(t, disk, c.name, "as it was")
		s := typed(t, "", append(append(c.args, path), "--book", book)...)
		if s.status != exitData || s.err != "setwright: cannot write "+path+": the disk is full; nothing was written, make room or name a file on another disk\n" {
			t.Errorf("%s: status %d, said %s", c.name, s.status, s.err)
		}
		checkMessage(t, s)
		if data, err := os.ReadFile(path); err != nil || string(data) != "as it was" {
			t.Errorf("%s: now %q, %v", c.name, data, err)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
	left, err := os.ReadDir(disk)
	if err != nil || len(left) != 1 {
		t.Errorf("left lying: %v, %v", left, err)
	}
}

// TestOutputToAFullDisk: what should go to standard output and cannot is said
// and is no success.
func TestOutputToAFullDisk(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skipf("there is no device that is always full (%v): it was not tried", err)
	}
	defer full.Close()
	log := longLog(t, 200)
	for _, args := range [][]string{{"analyse", "drift", log}, {"analyse", "drift", log, "--json"}, {"bench", "card", "drift"}} {
		var errs bytes.Buffer
		if status := Main(t.Context(), args, nil, full, &errs); status != exitData || errs.String() != "setwright: the result could not be written to the end: no space left on device\n" {
			t.Errorf("%q: status %d, said %s", args, status, errs.String())
		}
	}
}

// TestPictureIntoAPipe: a pipe is written to; it is not replaced by a file.
func TestPictureIntoAPipe(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe.svg")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Skipf("no pipe can be made here (%v): it was not tried", err)
	}
	got := make(chan []byte, 1)
	go func() {
		f, err := os.Open(pipe)
		if err != nil {
			got <- nil
			return
		}
		defer f.Close()
		data, _ := io.ReadAll(f)
		got <- data
	}()
	done(t, "analyse", "drift", longLog(t, 200), "--plot", pipe)
	if data := <-got; !strings.Contains(string(data), "</svg>") {
		t.Errorf("through the pipe came %d bytes", len(data))
	}
	if info, err := os.Lstat(pipe); err != nil || info.Mode()&os.ModeNamedPipe == 0 {
		t.Error("the pipe is no pipe any more")
	}
}

// visitor is a user without rights, and a copy of the program where that user
// can reach it. A test run by root needs one, for root may do everything.
type visitor struct {
	t       *testing.T
	program string
}

func newVisitor(t *testing.T) visitor {
	t.Helper()
	v := visitor{t: t, program: command(t).Path}
	if os.Getuid() == 0 {
		data, err := os.ReadFile(v.program)
		if err != nil {
			t.Fatal(err)
		}
		v.program = filepath.Join(t.TempDir(), "setwright")
		if err := os.WriteFile(v.program, data, 0o755); err != nil {
			t.Fatal(err)
		}
		open(t, filepath.Dir(v.program))
	}
	return v
}

// types runs the program as the visitor.
func (v visitor) types(args ...string) said {
	v.t.Helper()
	c := command(v.t, args...)
	var out, errs bytes.Buffer
	c.Path, c.Stdout, c.Stderr, c.Dir = v.program, &out, &errs, "/"
	if os.Getuid() == 0 {
		c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	return said{statusOf(v.t, c.Run()), out.String(), errs.String()}
}

// open lets everybody into the folders above, as far as they are the test's.
func open(t *testing.T, dir string) {
	t.Helper()
	for ; dir != os.TempDir() && dir != filepath.Dir(dir); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
}

// TestVisitorWithoutRights may read what everybody may, and is told what not.
func TestVisitorWithoutRights(t *testing.T) {
	t.Parallel()
	book := bookOfOne(t)
	log := longLog(t, 200)
	done(t, "run", "import", "turnstone", log, "--book", book)
	open(t, book)
	open(t, filepath.Dir(log))
	before, visitor := keptIn(t, book), newVisitor(t)

	s := visitor.types("set", "show", "turnstone", "--book", book)
	if s.status != exitDone || !strings.Contains(s.out, "turnstone-drift-") || s.err != "setwright: the book in "+book+" cannot be written; it is open for reading only\n" {
		t.Errorf("looking: status %d, said %s%s", s.status, s.out, s.err)
	}
	if s := visitor.types("report", "turnstone", "--book", book); s.status != exitDone || !strings.Contains(s.out, "</html>") {
		t.Errorf("the report: status %d, said %s", s.status, s.err)
	}
	for _, args := range [][]string{{"set", "add", "Whimbrel"}, {"run", "import", "turnstone", log}, {"run", "type", "turnstone"}, {"amount", "set", "excursion", "3 kHz", "--because", "so"}} {
		s := visitor.types(append(args, "--book", book)...)
		if s.status != exitData || !strings.Contains(s.err, "is open for reading only\n") || strings.Count(s.err, "\n") != 2 {
			t.Errorf("%q: status %d, said %s", args, s.status, s.err)
		}
	}
	if got := keptIn(t, book); got != before {
		t.Errorf("the book holds %+v, before %+v", got, before)
	}

	s = visitor.types("analyse", "drift", log, "--plot", filepath.Join(book, "p.svg"))
	if s.status != exitData || !strings.HasPrefix(s.err, "setwright: cannot write "+filepath.Join(book, "p.svg")+": you may not write there; nothing was written") {
		t.Errorf("a picture: status %d, said %s", s.status, s.err)
	}
	if err := os.Chmod(log, 0); err != nil {
		t.Fatal(err)
	}
	s = visitor.types("analyse", "drift", log)
	if s.status != exitData || s.err != "setwright: "+log+": this file may not be read by you; change its permissions or copy it\n" {
		t.Errorf("a log: status %d, said %s", s.status, s.err)
	}
	checkMessage(t, s)
}

// TestBookOnAReadOnlyDisk can be looked at, and the pages say that it cannot be
// written.
func TestBookOnAReadOnlyDisk(t *testing.T) {
	disk := smallDisk(t, "8m")
	book := filepath.Join(disk, "book")
	done(t, "set", "add", "Turnstone", "--book", book)
	done(t, "run", "import", "turnstone", longLog(t, 200), "--book", book)
	if err := syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Skipf("the file system cannot be made read-only (%v): it was not tried", err)
	}
	for _, args := range [][]string{{"set", "list"}, {"set", "show", "turnstone"}, {"report", "turnstone"}} {
		if s := typed(t, "", append(args, "--book", book)...); s.status != exitDone {
			t.Errorf("%q: status %d, said %s", args, s.status, s.err)
		}
	}
	if s := typed(t, "", "set", "add", "Whimbrel", "--book", book); s.status != exitData || !strings.Contains(s.err, "for reading only") {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	if b, err := store.Open(t.Context(), book, store.Options{ReadOnly: true}); err != nil {
		t.Error(err)
	} else {
		_ = b.Close()
	}
}
