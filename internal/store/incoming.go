package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// Incoming is a file that was taken in and belongs to no run yet: it lies
// beside the book's files under a passing name. [RunWriter.Keep] stores it with
// a run; Discard, best deferred, lets it go where it was not kept.
type Incoming struct {
	SHA256 string
	Size   int64
	path   string
}

// TakeIn copies a file, byte for byte, to where it can be looked at and then be
// kept with a run. Nothing of it is in the book yet.
func (b *Book) TakeIn(ctx context.Context, r io.Reader) (*Incoming, error) {
	if b.writer == nil {
		return nil, fail(ErrReadOnly, "storing a file: the book in %s is open for reading only", b.dir)
	}
	temp, sum, size, err := b.takeIn(ctx, r)
	if err != nil {
		return nil, err
	}
	return &Incoming{SHA256: sum, Size: size, path: temp}, nil
}

// Open opens the copy from its start.
func (f *Incoming) Open() (*os.File, error) {
	file, err := os.Open(f.path)
	if err != nil {
		return nil, fmt.Errorf("the copy of a file being taken in cannot be read: %w", err)
	}
	return file, nil
}

// Discard lets the copy go. Once it was kept it does nothing.
func (f *Incoming) Discard() { _ = os.Remove(f.path) }

// Keep stores a file with the run, under the name it came with: when Finish
// returns nil both are in the book, else neither is.
func (w *RunWriter) Keep(f *Incoming, name string) {
	w.files = append(w.files, keptFile{f, name})
}

type keptFile struct {
	*Incoming
	name string
}

// noteFiles writes the files of the run into the book's list, which its heading
// refers to.
func (w *RunWriter) noteFiles() error {
	for _, f := range w.files {
		if err := w.book.insertFile(w.ctx, w.tx, f.SHA256, f.Size); err != nil {
			return err
		}
	}
	return nil
}

// placeFiles moves the files of the run into their places, at the very end, and
// attaches them.
func (w *RunWriter) placeFiles() error {
	for _, f := range w.files {
		path := w.book.filePath(f.SHA256)
		_, there := os.Stat(path)
		if err := moveInto(f.path, path); err != nil {
			return w.book.explainFile("storing a file", err)
		}
		if errors.Is(there, fs.ErrNotExist) {
			w.moved = append(w.moved, path)
		}
		if err := attach(w.ctx, w.tx, w.heading.ID, f.SHA256, f.name); err != nil {
			return err
		}
	}
	return nil
}

// removeFiles takes files away again that were moved for what was not stored.
func removeFiles(paths []string) {
	for _, path := range paths {
		_ = os.Remove(path)
	}
}
