package store

import (
	"context"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"strings"

	"setwright/internal/run"
	"setwright/recording"
)

// NewRecording says what a recording that is going to be made is meant for.
type NewRecording struct {
	// Run is the run it goes to, which is stored with it when it is finished;
	// or, where Adds is set, one that is in the book and gets it added.
	Run  run.Run `json:"run"`
	Adds bool    `json:"adds,omitempty"`
	// Recording is what is known of it beforehand. Frames, hash, rate and
	// number of channels are filled in.
	Recording run.Recording `json:"recording"`
	// Format is how the samples are written.
	Format recording.Format `json:"format"`
}

// BeginRecording begins a recording. It says at once what is wrong with what it
// is meant for.
func (b *Book) BeginRecording(ctx context.Context, n NewRecording) (*RecordingWriter, error) {
	const doing = "beginning a recording"
	if b.writer == nil {
		return nil, fail(ErrReadOnly, "%s: the book in %s is open for reading only", doing, b.dir)
	}
	if err := b.checkNewRecording(ctx, n); err != nil {
		return nil, b.explain(doing, err)
	}
	n.Recording.RateHz, n.Recording.Channels = n.Format.RateHz, n.Format.Channels
	id := b.clock().UTC().Format("2006-01-02-150405-") + strings.ToLower(rand.Text()[:6])
	w := &RecordingWriter{id: id, book: b, heading: n, began: b.clock()}
	if err := w.make(); err != nil {
		w.release()
		_ = os.RemoveAll(w.dir())
		return nil, b.explainFile(doing, err)
	}
	w.keepDurable()
	return w, nil
}

func (b *Book) checkNewRecording(ctx context.Context, n NewRecording) error {
	if err := checkID("run", n.Run.ID); err != nil {
		return err
	}
	if n.Recording.Role == "" || n.Recording.Name == "" {
		return fail(ErrInvalid, "the recording for %s does not say its role and its name", runs.name(n.Run.ID))
	}
	return checkRun(ctx, b.read(ctx), runs.name(n.Run.ID), n.Run)
}

// make makes the folder and its files. The heading is on the disk before the
// first sample can be.
func (w *RecordingWriter) make() error {
	if err := os.MkdirAll(w.dir(), 0o755); err != nil {
		return err
	}
	var err error
	if w.lock, err = lockFile(filepath.Join(w.dir(), lockName)); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(w.dir(), roomName), make([]byte, roomBytes), 0o644); err != nil {
		return err
	}
	if w.notes, err = newGrowingNotes(filepath.Join(w.dir(), notesName)); err != nil {
		return err
	}
	if err := w.notes.write(growingLine{Heading: &w.heading, Began: w.began}); err != nil {
		return err
	}
	if err := w.notes.file.Sync(); err != nil {
		return err
	}
	if w.sound, err = os.OpenFile(filepath.Join(w.dir(), soundName), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o644); err != nil {
		return err
	}
	if w.wav, err = recording.NewWriter(w.sound, w.heading.Format); err != nil {
		return err
	}
	return errors.Join(w.sound.Sync(), syncDir(w.dir()), syncDir(filepath.Dir(w.dir())))
}
