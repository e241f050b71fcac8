package store

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"setwright/internal/run"
	"setwright/recording"
)

// A recording that is being made lies in a folder of its own,
// recordings/growing/ID, in three files: sound.wav, which can be read at any
// moment; notes.jsonl, a line for each thing known of it (see growingLine);
// and lock, which its program holds as long as it lives.
const (
	growingName = "growing"
	soundName   = "sound.wav"
	notesName   = "notes.jsonl"
	lockName    = "lock"
	roomName    = "room"
)

// roomBytes are kept free beside a growing recording, so that it can be
// finished on a disk that is full.
const roomBytes = 512 << 10

// syncEvery is how often a growing recording is made durable: what a pulled
// plug can take is what came since, less than a second.
const syncEvery = 400 * time.Millisecond

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

// RecordingWriter is a recording that is being made. What Append was given is
// in the file when it returns, and on the disk within half a second: a program
// that is killed loses nothing of it, a pulled plug less than a second.
//
// Its methods may be called from several goroutines. An error leaves what was
// written before; Finish stores it.
type RecordingWriter struct {
	id      string
	book    *Book
	heading NewRecording
	began   time.Time

	mu    sync.Mutex
	sound *os.File
	wav   *recording.Writer
	notes *growingNotes
	lock  io.Closer
	dirty bool
	fault error // why nothing more can be appended
	over  error // why nothing more can be done

	stop chan struct{} // ends the syncing
	done sync.WaitGroup
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

// ID names the recording while it is being made.
func (w *RecordingWriter) ID() string { return w.id }

// Heading says what the recording is meant for.
func (w *RecordingWriter) Heading() NewRecording { return w.heading }

func (w *RecordingWriter) dir() string { return w.book.growingPath(w.id) }

func (b *Book) growingPath(id string, file ...string) string {
	return filepath.Join(append([]string{b.dir, recordingsName, growingName, id}, file...)...)
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

// keepDurable makes what was written durable, as long as the recording grows.
func (w *RecordingWriter) keepDurable() {
	w.stop = make(chan struct{})
	w.done.Add(1)
	go func() {
		defer w.done.Done()
		tick := time.NewTicker(syncEvery)
		defer tick.Stop()
		for {
			select {
			case <-w.stop:
				return
			case <-tick.C:
				w.syncIfDirty()
			}
		}
	}()
}

// syncIfDirty does not hold up the writing while the disk works.
func (w *RecordingWriter) syncIfDirty() {
	w.mu.Lock()
	dirty := w.dirty
	w.dirty = false
	w.mu.Unlock()
	if !dirty {
		return
	}
	if err := errors.Join(w.sound.Sync(), w.notes.file.Sync()); err != nil {
		w.mu.Lock()
		w.fail(err)
		w.mu.Unlock()
	}
}

// Append writes whole frames, channels interleaved, full scale ±1.
func (w *RecordingWriter) Append(samples []float64) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := w.closed(); err != nil {
		return err
	}
	if err := w.wav.Write(samples); err != nil {
		return w.fail(err)
	}
	w.dirty = true
	return nil
}

// Note keeps the integrity record as it is known so far.
func (w *RecordingWriter) Note(c run.Capture) error {
	return w.noted(func() error { return w.notes.capture(c) })
}

// Mark keeps a mark that was set.
func (w *RecordingWriter) Mark(m run.Mark) error {
	return w.noted(func() error { return w.notes.mark(m) })
}

func (w *RecordingWriter) noted(do func() error) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := w.closed(); err != nil {
		return err
	}
	if err := do(); err != nil {
		return w.fail(err)
	}
	w.dirty = true
	return nil
}

func (w *RecordingWriter) closed() error {
	if w.over != nil {
		return w.over
	}
	return w.fault
}

// fail remembers why no more can be written. What was written is kept.
func (w *RecordingWriter) fail(err error) error {
	if w.fault != nil {
		return w.fault
	}
	if outOfSpace(err) {
		w.fault = failBy(err, ErrDiskFull, "the disk that holds %s is full; the recording was ended, what came until then is kept: make room and finish it", w.book.dir)
	} else {
		w.fault = fmt.Errorf("the recording was ended, what came until then is kept: %w", err)
	}
	return w.fault
}

// Frames is how many frames have been written.
func (w *RecordingWriter) Frames() int64 {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.wav == nil {
		return 0
	}
	return w.wav.Frames()
}

// Bytes is how long the file is.
func (w *RecordingWriter) Bytes() int64 {
	info, err := os.Stat(filepath.Join(w.dir(), soundName))
	if err != nil {
		return 0
	}
	return info.Size()
}

// Abort gives the recording up: it is deleted. After Finish it does nothing.
func (w *RecordingWriter) Abort() error {
	if !w.end(fail(ErrClosed, "the recording %s was given up", w.id)) {
		return nil
	}
	w.release()
	return w.book.explainFile("deleting a recording", os.RemoveAll(w.dir()))
}

// Leave stops working on the recording and leaves it as it is, unfinished.
func (w *RecordingWriter) Leave() {
	if w.end(fail(ErrClosed, "the recording %s was left unfinished", w.id)) {
		w.release()
	}
}

// end stops the syncing, once.
func (w *RecordingWriter) end(why error) bool {
	w.mu.Lock()
	first := w.over == nil
	if first {
		w.over = why
	}
	w.mu.Unlock()
	if first && w.stop != nil {
		close(w.stop)
		w.done.Wait()
	}
	return first
}

// release closes what is open and gives the lock back.
func (w *RecordingWriter) release() {
	if w.sound != nil {
		_ = w.sound.Close()
	}
	if w.notes != nil {
		_ = w.notes.file.Close()
	}
	if w.lock != nil {
		_ = w.lock.Close()
	}
}
