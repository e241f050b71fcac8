package store

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
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

// ID names the recording while it is being made.
func (w *RecordingWriter) ID() string { return w.id }

// Heading says what the recording is meant for.
func (w *RecordingWriter) Heading() NewRecording { return w.heading }

func (w *RecordingWriter) dir() string { return w.book.growingPath(w.id) }

func (b *Book) growingPath(id string, file ...string) string {
	return filepath.Join(append([]string{b.dir, recordingsName, growingName, id}, file...)...)
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
