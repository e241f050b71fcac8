package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"setwright/internal/run"
	"setwright/recording"
)

// FinishRecording says how a recording is finished.
type FinishRecording struct {
	// RunID takes the place of the id that the run was to have, where that is
	// set.
	RunID string
	// Capture is the integrity record at the end; nil for the one last noted.
	Capture *run.Capture
	// Cut says that a fault ended it, and Why which.
	Cut bool
	Why string
}

// Finish completes the recording and stores it: its header is put right, it is
// hashed and moved to its place, and it is attached to its run, which gets the
// recording written into its heading. When it returns nil all of that is on the
// disk. When it fails the recording is left unfinished, none of it lost, and can
// be taken up again by [Book.AdoptRecording].
func (w *RecordingWriter) Finish(ctx context.Context, how FinishRecording) (run.Run, run.Recording, error) {
	if w.book.shared(ctx) != nil {
		return run.Run{}, run.Recording{}, fail(ErrInvalid, "a recording cannot be finished together with other changes")
	}
	if !w.end(fail(ErrClosed, "the recording %s has been finished already", w.id)) {
		return run.Run{}, run.Recording{}, w.over
	}
	defer w.release()
	doing := "finishing recording " + w.id
	rec, sum, err := w.complete(ctx, how)
	if err != nil {
		return run.Run{}, rec, w.unfinished(w.book.explainFile(doing, err))
	}
	r, err := w.store(ctx, doing, how.RunID, rec, sum)
	if err != nil {
		return r, rec, w.unfinished(err)
	}
	return r, rec, nil
}

// unfinished says that nothing is lost by an error.
func (w *RecordingWriter) unfinished(err error) error {
	var ours *Error
	kind := error(ErrInvalid)
	if errors.As(err, &ours) {
		kind = ours.Kind
	}
	return failBy(err, kind, "the recording is kept, all of it, but it is not finished (%s)", w.id)
}

// complete puts the file right and describes it.
func (w *RecordingWriter) complete(ctx context.Context, how FinishRecording) (rec run.Recording, sum string, err error) {
	_ = os.Remove(filepath.Join(w.dir(), roomName))
	rec = w.heading.Recording
	if err := w.closeSound(); err != nil {
		return rec, "", err
	}
	if sum, err = hashFile(ctx, filepath.Join(w.dir(), soundName)); err != nil {
		return rec, "", err
	}
	rec.SHA256, rec.Frames, rec.Marks = sum, w.wav.Frames(), w.notes.known.marks
	rec.Capture = how.Capture
	if rec.Capture == nil {
		rec.Capture = w.notes.known.capture
	}
	if how.Cut {
		c := run.Capture{}
		if rec.Capture != nil {
			c = *rec.Capture
		}
		c.Cut = true
		if how.Why != "" {
			c.Notes = append(append([]string(nil), c.Notes...), how.Why)
		}
		rec.Capture = &c
	}
	return rec, sum, nil
}

// closeSound completes the file, also after a write that failed half way.
func (w *RecordingWriter) closeSound() error {
	err := w.wav.Close()
	if err != nil {
		if w.wav, err = recording.TakeUp(w.sound, w.heading.Format); err == nil {
			err = w.wav.Close()
		}
	}
	if err != nil {
		return err
	}
	return errors.Join(w.sound.Sync(), w.sound.Close())
}

func hashFile(ctx context.Context, path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	_, err = io.CopyBuffer(h, &stoppable{ctx: ctx, r: f}, make([]byte, 1<<20))
	return hex.EncodeToString(h.Sum(nil)), err
}

// store moves the file to its place and takes it into the book. A program that
// is killed in between leaves notes that say where the file is.
func (w *RecordingWriter) store(ctx context.Context, doing, runID string, rec run.Recording, sum string) (run.Run, error) {
	from, to := filepath.Join(w.dir(), soundName), w.book.filePath(sum)
	r := w.heading.Run
	if runID != "" {
		r.ID = runID
	}
	_, there := os.Stat(to)
	moved := errors.Is(there, os.ErrNotExist) // else the book has the same file already
	if err := w.notes.placed(placedFile{sum, r.ID}); err != nil {
		return r, w.book.explainFile(doing, err)
	}
	if moved {
		if err := moveInto(from, to); err != nil {
			return r, w.book.explainFile(doing, errors.Join(err, w.notes.placed(placedFile{})))
		}
	}
	err := w.book.write(ctx, doing, func(tx querier) error {
		var err error
		r, err = w.book.addRecording(ctx, tx, r, w.heading.Adds, rec)
		return err
	})
	if err != nil && moved {
		return r, errors.Join(err, moveInto(to, from), w.notes.placed(placedFile{}))
	}
	if err != nil {
		return r, err
	}
	w.release()
	_ = os.RemoveAll(w.dir()) // what is left of it is cleared away by the next to open the book
	return r, nil
}

// addRecording writes a recording whose file lies in its place into the heading
// of its run, which it stores unless the recording is added to one.
func (b *Book) addRecording(ctx context.Context, tx querier, r run.Run, adds bool, rec run.Recording) (run.Run, error) {
	info, err := os.Stat(b.filePath(rec.SHA256))
	if err != nil {
		return r, fmt.Errorf("the file of the recording: %w", err)
	}
	if err := b.insertFile(ctx, tx, rec.SHA256, info.Size()); err != nil {
		return r, err
	}
	if adds {
		r, err = b.extendRun(ctx, tx, r.ID, rec)
	} else {
		r.Recordings = append(r.Recordings, rec)
		if r.Entered.IsZero() {
			r.Entered = b.clock()
		}
		err = b.insertRun(ctx, tx, r, false)
	}
	if err != nil {
		return r, err
	}
	return r, attach(ctx, tx, r.ID, rec.SHA256, rec.Name)
}

// extendRun adds a recording to the heading of a run; the old one is kept.
func (b *Book) extendRun(ctx context.Context, tx querier, id string, rec run.Recording) (run.Run, error) {
	old, err := runs.doc(ctx, tx, id)
	if err != nil {
		return run.Run{}, err
	}
	r, err := decode[run.Run](runs.name(id), []byte(old))
	if err != nil {
		return r, err
	}
	r.Recordings = append(r.Recordings, rec)
	return r, runs.replace(ctx, b, tx, r, old, "recording added: "+rec.Name)
}
