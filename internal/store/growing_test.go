package store

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"setwright/internal/run"
	"setwright/recording"
	"setwright/signal"
)

// beat is an invented beat note of 997 Hz in whole steps of 16 bits, so that
// what comes back can be compared to the bit.
func beat(from, frames int) []float64 {
	out := make([]float64, frames)
	for i := range out {
		out[i] = math.Round(16384*math.Sin(2*math.Pi*997*float64(from+i)/48000)) / 32768
	}
	return out
}

func beatRecording(runID string) NewRecording {
	return NewRecording{Run: driftRun(runID),
		Recording: run.Recording{Role: "beat", Name: "beat.wav", Started: clock(), Labels: map[string]string{"input": "-73 dBm"}},
		Format:    recording.Format{RateHz: 48000, Channels: 1, Bits: 16}}
}

func begin(t *testing.T, b *Book, n NewRecording) *RecordingWriter {
	t.Helper()
	w, err := b.BeginRecording(ctx, n)
	must(t, err)
	t.Cleanup(func() { w.Leave() })
	return w
}

// wantBeat checks a stored recording byte by byte: RIFF sizes, then samples.
func wantBeat(t *testing.T, b *Book, rec run.Recording, frames int) {
	t.Helper()
	path, size, err := b.FilePath(ctx, rec.SHA256)
	must(t, err)
	must(t, b.VerifyFile(ctx, rec.SHA256))
	data, err := os.ReadFile(path)
	must(t, err)
	at := bytes.Index(data, []byte("data")) + 8
	le := binary.LittleEndian
	if got := le.Uint32(data[4:]); int64(got) != size-8 {
		t.Errorf("the header says %d bytes follow, expected %d", got, size-8)
	}
	if got := le.Uint32(data[at-4:]); int(got) != 2*frames || rec.Frames != int64(frames) {
		t.Fatalf("the header says %d bytes of samples and the book %d frames, expected %d frames", got, rec.Frames, frames)
	}
	for i, x := range beat(0, frames) {
		if got := int16(le.Uint16(data[at+2*i:])); float64(got) != x*32768 {
			t.Fatalf("sample %d is %d, expected %g", i, got, x*32768)
		}
	}
}

// TestRecordingGrowsIntoItsRun: a recording that is being made is a file that
// can be read meanwhile, and becomes part of a new run, and another of the same.
func TestRecordingGrowsIntoItsRun(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	w := begin(t, b, beatRecording("sitting"))
	for i := range 10 {
		must(t, w.Append(beat(i*4800, 4800)))
	}
	must(t, w.Mark(run.Mark{Frame: 24000, Text: "the lamp flickered"}))
	gap := signal.Gap{Frame: 100, Frames: 480, Why: "zeros"}
	must(t, w.Note(run.Capture{Path: "standard input", Gaps: []signal.Gap{gap}}))
	open, err := b.UnfinishedRecordings(ctx)
	must(t, err)
	if len(open) != 1 || !open[0].Living || open[0].Frames != 48000 || open[0].Heading.Run.ID != "sitting" || len(open[0].Marks) != 1 || open[0].Capture.Gaps[0] != gap {
		t.Errorf("while it grows: %+v", open)
	}
	_, err = b.AdoptRecording(ctx, w.ID())
	wantKind(t, err, ErrBusy, "at this moment")
	r, rec, err := w.Finish(ctx, FinishRecording{})
	must(t, err)
	wantBeat(t, b, rec, 48000)
	stored, err := b.Run(ctx, "sitting")
	must(t, err)
	if len(stored.Recordings) != 1 || stored.Recordings[0].SHA256 != rec.SHA256 || r.ID != "sitting" || stored.Recordings[0].Capture.Gaps[0] != gap ||
		stored.Recordings[0].Marks[0].Text != "the lamp flickered" || stored.Recordings[0].Labels["input"] != "-73 dBm" || stored.Open {
		t.Errorf("stored: %+v", stored)
	}
	files, err := b.Files(ctx, "sitting")
	must(t, err)
	if len(files) != 1 || files[0].Name != "beat.wav" {
		t.Errorf("files %+v", files)
	}

	other := begin(t, b, beatRecording("sitting"))
	must(t, other.Append(beat(0, 480)))
	_, _, err = other.Finish(ctx, FinishRecording{})
	wantKind(t, err, ErrExists, "kept", "not finished") // another run took the id
	_, _, err = b.RecoverRecording(ctx, other.ID(), "another sitting")
	must(t, err)

	n := beatRecording("sitting")
	n.Adds = true
	second := begin(t, b, n)
	must(t, second.Append(beat(0, 4800)))
	_, rec, err = second.Finish(ctx, FinishRecording{Cut: true, Why: "the cable was pulled"})
	must(t, err)
	wantBeat(t, b, rec, 4800)
	stored, err = b.Run(ctx, "sitting")
	must(t, err)
	if len(stored.Recordings) != 2 || !stored.Recordings[1].Capture.Cut || stored.Recordings[1].Capture.Notes[0] != "the cable was pulled" {
		t.Errorf("stored: %+v", stored.Recordings)
	}
	wantNoneUnfinished(t, b)
	report, err := b.Verify(ctx)
	if err != nil || len(report.Problems) > 0 {
		t.Error(report.Problems, err)
	}
}

func wantNoneUnfinished(t *testing.T, b *Book) {
	t.Helper()
	open, err := b.UnfinishedRecordings(ctx)
	if err != nil || len(open) != 0 {
		t.Errorf("unfinished: %+v, %v", open, err)
	}
	if left, _ := os.ReadDir(b.growingPath("")); len(left) != 0 {
		t.Errorf("left lying: %v", left)
	}
}

// TestKilledWhileRecording kills the program with −9 in the middle: the next one
// finds all that it said was written, and one call stores it.
func TestKilledWhileRecording(t *testing.T) {
	dir := bookWith(t)
	p := start(t, "record", dir)
	var said int
	for said < 20 {
		_, err := fmt.Sscan(p.line(t), &said)
		must(t, err)
	}
	must(t, p.cmd.Process.Kill())
	for {
		s, err := p.out.ReadString('\n')
		if err != nil {
			break
		}
		if n, err := strconv.Atoi(strings.TrimSpace(s)); err == nil {
			said = n
		}
	}
	p.cmd.Wait()
	b := openBook(t, dir, Options{})
	open, err := b.UnfinishedRecordings(ctx)
	must(t, err)
	if len(open) != 1 || open[0].Living || open[0].Frames < int64(said)*480 || open[0].Frames > int64(said+1)*480 {
		t.Fatalf("it said %d blocks; found %+v", said, open)
	}
	past := time.Now().Add(-30 * abandoned)
	for _, name := range []string{"", soundName, notesName, lockName} {
		must(t, os.Chtimes(b.growingPath(open[0].ID, name), past, past))
	}
	b.sweep(ctx) // however old it is, it is not deleted
	r, rec, err := b.RecoverRecording(ctx, open[0].ID, "")
	must(t, err)
	if r.ID != "recorded" || !rec.Capture.Cut || rec.Capture.Path != "standard input" || len(rec.Marks) != 1 {
		t.Errorf("recovered %+v into %s", rec, r.ID)
	}
	wantBeat(t, b, rec, int(open[0].Frames))
	wantNoneUnfinished(t, b)
}

// TestKilledWhileFinishing: between the moving of the file and the book's taking
// it in, and between that and the clearing up.
func TestKilledWhileFinishing(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	w := begin(t, b, beatRecording("sitting"))
	must(t, w.Append(beat(0, 4800)))
	w.end(ErrClosed)
	_, sum, err := w.complete(ctx, FinishRecording{})
	must(t, err)
	must(t, w.notes.placed(placedFile{sum, "sitting"}))
	must(t, moveInto(b.growingPath(w.ID(), soundName), b.filePath(sum)))
	w.release() // as if killed here
	past := time.Now().Add(-30 * abandoned)
	must(t, os.Chtimes(b.filePath(sum), past, past))
	b.sweep(ctx)
	open, err := b.UnfinishedRecordings(ctx)
	if err != nil || len(open) != 1 || open[0].Frames != 4800 {
		t.Fatalf("unfinished: %+v, %v", open, err)
	}
	_, rec, err := b.RecoverRecording(ctx, w.ID(), "renamed")
	must(t, err)
	wantBeat(t, b, rec, 4800)
	if _, err := b.Run(ctx, "renamed"); err != nil {
		t.Error(err)
	}

	must(t, os.MkdirAll(b.growingPath("left"), 0o755)) // killed before the clearing up
	notes, err := newGrowingNotes(b.growingPath("left", notesName))
	must(t, err)
	h := beatRecording("renamed")
	must(t, notes.write(growingLine{Heading: &h}))
	must(t, notes.placed(placedFile{rec.SHA256, "renamed"}))
	must(t, notes.file.Close())
	if open, err := b.UnfinishedRecordings(ctx); err != nil || len(open) != 0 {
		t.Errorf("unfinished: %+v, %v", open, err)
	}
	b.sweep(ctx)
	wantNoneUnfinished(t, b)
}

// TestFinishingFails: what cannot be stored now is there to be finished later.
func TestFinishingFails(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	n := beatRecording("sitting")
	w := begin(t, b, n)
	must(t, w.Append(beat(0, 4800)))
	must(t, b.DeleteState(ctx, "spring", "entered twice"))
	_, _, err := w.Finish(ctx, FinishRecording{})
	wantKind(t, err, ErrNotFound, "kept", "not finished", w.ID())
	open, err := b.UnfinishedRecordings(ctx)
	if err != nil || len(open) != 1 || open[0].Living || open[0].Frames != 4800 {
		t.Fatalf("unfinished: %+v, %v", open, err)
	}
	changes, err := b.Changes(ctx, "state", "spring", 1)
	must(t, err)
	must(t, b.Restore(ctx, changes[0].ID))
	_, rec, err := b.RecoverRecording(ctx, w.ID(), "")
	must(t, err)
	wantBeat(t, b, rec, 4800)
}

// TestRecordingGivenUp is gone, and what is wrong is said before it begins.
func TestRecordingGivenUp(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	w := begin(t, b, beatRecording("sitting"))
	must(t, w.Append(beat(0, 480)))
	must(t, w.Abort())
	wantKind(t, w.Append(beat(0, 480)), ErrClosed, "given up")
	wantNoneUnfinished(t, b)
	n := beatRecording("sitting")
	n.Run.StateID = "autumn"
	_, err := b.BeginRecording(ctx, n)
	wantKind(t, err, ErrNotFound, "autumn")
	n = beatRecording("sitting")
	n.Recording.Role = ""
	_, err = b.BeginRecording(ctx, n)
	wantKind(t, err, ErrInvalid, "role")
	_, err = b.AdoptRecording(ctx, "../../book.db")
	wantKind(t, err, ErrNotFound)
	wantNoneUnfinished(t, b)
}

// TestDiskFullWhileRecording: what came before is kept, to whole frames, and can
// be finished on the disk that is still full.
func TestDiskFullWhileRecording(t *testing.T) {
	disk := smallDisk(t, "4m")
	b := openBook(t, filepath.Join(disk, "book"), Options{Create: true})
	furnish(t, b)
	w := begin(t, b, beatRecording("sitting"))
	frames := 0
	var err error
	for err == nil {
		if err = w.Append(beat(frames, 4799)); err == nil {
			frames += 4799
		}
	}
	wantKind(t, err, ErrDiskFull, "full", "kept")
	_, rec, err := w.Finish(ctx, FinishRecording{Cut: true, Why: "the disk was full"})
	must(t, err)
	if rec.Frames < int64(frames) {
		t.Errorf("%d frames, said to be written were %d", rec.Frames, frames)
	}
	wantBeat(t, b, rec, int(rec.Frames))
	wantNoneUnfinished(t, b)
}

// TestTornNotes: a line that was cut short does not hide those after it.
func TestTornNotes(t *testing.T) {
	path := filepath.Join(t.TempDir(), notesName)
	n, err := newGrowingNotes(path)
	must(t, err)
	h := beatRecording("sitting")
	must(t, n.write(growingLine{Heading: &h}))
	_, err = n.file.WriteString(`{"mark":{"fra`)
	must(t, err)
	n.torn = true
	must(t, n.mark(run.Mark{Frame: 7}))
	must(t, n.file.Close())
	known, err := readGrowing(path)
	if err != nil || known.heading == nil || len(known.marks) != 1 || known.marks[0].Frame != 7 {
		t.Errorf("%+v, %v", known, err)
	}
}

// TestRecordingReadByOthers has a general tool read a recording that is still
// being made.
func TestRecordingReadByOthers(t *testing.T) {
	sox, err := exec.LookPath("sox")
	if err != nil {
		t.Skip("sox is not installed: a growing recording was not read with another program")
	}
	b := newBook(t)
	furnish(t, b)
	w := begin(t, b, beatRecording("sitting"))
	must(t, w.Append(beat(0, 48000)))
	out, err := exec.Command(sox, "--ignore-length", b.growingPath(w.ID(), soundName), "-n", "stat").CombinedOutput()
	if err != nil || !strings.Contains(string(out), "Length (seconds):      1.000000") {
		t.Errorf("%v: %s", err, out)
	}
}
