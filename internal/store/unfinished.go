package store

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"setwright/internal/run"
	"setwright/recording"
)

// UnfinishedRecording is a recording that was begun and not finished.
type UnfinishedRecording struct {
	ID      string
	Heading NewRecording
	Began   time.Time
	Last    time.Time // when samples were last written
	Frames  int64
	Bytes   int64
	Capture *run.Capture // as last noted
	Marks   []run.Mark
	// Living says that a program is making it at this moment; else that
	// program has died, and the recording waits to be finished.
	Living bool
}

// UnfinishedRecordings lists the recordings that are being made, or whose
// program died, the oldest first.
func (b *Book) UnfinishedRecordings(ctx context.Context) ([]UnfinishedRecording, error) {
	entries, err := os.ReadDir(b.growingPath(""))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, b.explainFile("listing unfinished recordings", err)
	}
	var out []UnfinishedRecording
	for _, e := range entries {
		u, ok, err := b.unfinishedRecording(ctx, e.Name())
		if err != nil {
			return out, err
		}
		if ok {
			out = append(out, u)
		}
	}
	return out, nil
}

// unfinishedRecording looks at one; ok is false where there is none, or it was
// stored and only its folder is left.
func (b *Book) unfinishedRecording(ctx context.Context, id string) (u UnfinishedRecording, ok bool, err error) {
	known, err := readGrowing(b.growingPath(id, notesName))
	if err != nil || known.heading == nil {
		return u, false, nil // not begun yet
	}
	if stored, err := known.placed.stored(ctx, b.read(ctx)); err != nil || stored {
		return u, false, b.explain("looking for a recording", err)
	}
	info, err := os.Stat(b.growingPath(id, soundName))
	if err != nil && known.placed.SHA256 != "" {
		info, err = os.Stat(b.filePath(known.placed.SHA256))
	}
	if err != nil {
		return u, false, nil
	}
	u = UnfinishedRecording{ID: id, Heading: *known.heading, Began: known.began, Last: info.ModTime(),
		Bytes: info.Size(), Capture: known.capture, Marks: known.marks, Living: b.isLocked(id)}
	u.Frames, err = recording.FramesIn(info.Size(), known.heading.Format)
	return u, err == nil, err
}

// stored says whether the book took the file in.
func (p placedFile) stored(ctx context.Context, q querier) (bool, error) {
	if p.SHA256 == "" {
		return false, nil
	}
	return exists(ctx, q, "SELECT 1 FROM run_files WHERE sha256 = $1 AND run_id = $2", p.SHA256, p.RunID)
}

// isLocked says whether a program holds the lock of a growing recording.
func (b *Book) isLocked(id string) bool {
	lock, err := lockPatiently(b.growingPath(id, lockName))
	if err != nil {
		return errors.Is(err, errLocked)
	}
	_ = lock.Close()
	return false
}

// lockPatiently is lockFile that lets others look whether it is locked, for
// which they lock it for a moment.
func lockPatiently(path string) (lock io.Closer, err error) {
	for range 5 {
		if lock, err = lockFile(path); !errors.Is(err, errLocked) {
			return lock, err
		}
		time.Sleep(2 * time.Millisecond)
	}
	return lock, err
}

// AdoptRecording takes up a recording whose program died: its end is cut to a
// whole frame, and it can be finished or given up. ErrBusy where its program
// lives.
func (b *Book) AdoptRecording(ctx context.Context, id string) (*RecordingWriter, error) {
	doing := "taking up recording " + id
	if b.writer == nil {
		return nil, fail(ErrReadOnly, "%s: the book in %s is open for reading only", doing, b.dir)
	}
	if id == "" || filepath.Base(id) != id {
		return nil, fail(ErrNotFound, "there is no unfinished recording %q in this book", id)
	}
	u, ok, err := b.unfinishedRecording(ctx, id)
	if err == nil && !ok {
		err = fail(ErrNotFound, "there is no unfinished recording %q in this book", id)
	}
	if err != nil {
		return nil, err
	}
	w := &RecordingWriter{id: id, book: b, heading: u.Heading, began: u.Began}
	if err := w.adopt(); err != nil {
		w.release()
		if errors.Is(err, errLocked) {
			return nil, fail(ErrBusy, "%s: another program is making it at this moment (%s)", doing, b.others())
		}
		return nil, b.explainFile(doing, err)
	}
	w.keepDurable()
	return w, nil
}

func (w *RecordingWriter) adopt() error {
	var err error
	if w.lock, err = lockPatiently(filepath.Join(w.dir(), lockName)); err != nil {
		return err
	}
	if w.notes, err = newGrowingNotes(filepath.Join(w.dir(), notesName)); err != nil {
		return err
	}
	w.notes.torn = true // it may be
	if w.notes.known, err = readGrowing(filepath.Join(w.dir(), notesName)); err != nil {
		return err
	}
	path := filepath.Join(w.dir(), soundName)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) && w.notes.known.placed.SHA256 != "" {
		if err := moveInto(w.book.filePath(w.notes.known.placed.SHA256), path); err != nil {
			return err
		}
	}
	if w.sound, err = os.OpenFile(path, os.O_RDWR, 0); err != nil {
		return err
	}
	w.wav, err = recording.TakeUp(w.sound, w.heading.Format)
	return err
}

// RecoverRecording finishes a recording whose program died, with the mark that
// it was cut short. runID, where given, takes the place of the id its run was
// to have.
func (b *Book) RecoverRecording(ctx context.Context, id, runID string) (run.Run, run.Recording, error) {
	w, err := b.AdoptRecording(ctx, id)
	if err != nil {
		return run.Run{}, run.Recording{}, err
	}
	return w.Finish(ctx, FinishRecording{RunID: runID, Cut: true, Why: ProgramEnded})
}

// ProgramEnded is why a recording was cut that was found unfinished.
const ProgramEnded = "the program ended before the recording was finished; less than a second of its end can be missing"

// sweepGrowing clears away the folders of recordings that were stored, and
// those in which nothing was ever recorded. A recording is never deleted.
func (b *Book) sweepGrowing(ctx context.Context) {
	entries, _ := os.ReadDir(b.growingPath(""))
	for _, e := range entries {
		known, err := readGrowing(b.growingPath(e.Name(), notesName))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			continue
		}
		_, err = os.Stat(b.growingPath(e.Name(), soundName))
		empty := known.heading == nil && errors.Is(err, fs.ErrNotExist) && old(b.growingPath(e.Name()))
		stored, err := known.placed.stored(ctx, b.writer)
		if err == nil && (empty || stored) && !b.isLocked(e.Name()) {
			_ = os.RemoveAll(b.growingPath(e.Name()))
		}
	}
}

// placedFiles are the files that were put into their place by recordings that
// the book has not taken in.
func (b *Book) placedFiles() map[string]bool {
	out := map[string]bool{}
	entries, _ := os.ReadDir(b.growingPath(""))
	for _, e := range entries {
		if known, err := readGrowing(b.growingPath(e.Name(), notesName)); err == nil && known.placed.SHA256 != "" {
			out[known.placed.SHA256] = true
		}
	}
	return out
}
