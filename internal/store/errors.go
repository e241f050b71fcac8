package store

import (
	"context"
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"setwright/internal/store/columnar"
)

// The kinds of error; test with errors.Is.
var (
	ErrNotFound = errors.New("not found")
	ErrExists   = errors.New("exists already")
	ErrInUse    = errors.New("in use by other entries")
	ErrInvalid  = errors.New("not fit to be stored")
	ErrClosed   = errors.New("run is closed")
	ErrStranger = errors.New("not a book")
	ErrNewer    = errors.New("book of a newer version")
	ErrOlder    = errors.New("book of an older version")
	ErrReadOnly = errors.New("book is open for reading only")
	ErrBusy     = errors.New("book is busy")
	ErrDiskFull = errors.New("disk is full")
	ErrDamaged  = errors.New("damaged")
)

// Error is an error of the book: its kind for the program, a sentence for the
// person, and the cause where there is one.
type Error struct {
	Kind error
	Text string
	Err  error
}

func (e *Error) Error() string {
	if e.Err != nil {
		return e.Text + ": " + e.Err.Error()
	}
	return e.Text
}

// Unwrap gives errors.Is the kind and the cause.
func (e *Error) Unwrap() []error {
	if e.Err != nil {
		return []error{e.Kind, e.Err}
	}
	return []error{e.Kind}
}

func fail(kind error, format string, args ...any) error {
	return &Error{Kind: kind, Text: fmt.Sprintf(format, args...)}
}

func failBy(err, kind error, format string, args ...any) error {
	return &Error{Kind: kind, Text: fmt.Sprintf(format, args...), Err: err}
}

// explain turns an error of the database into one of ours. doing says what was
// being done: "storing run \"a\"".
func (b *Book) explain(doing string, err error) error {
	var ours *Error
	if err == nil || errors.As(err, &ours) {
		return err
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("%s was stopped: %w", doing, err)
	}
	if errors.Is(err, columnar.ErrDamaged) {
		return failBy(err, ErrDamaged, "%s", doing)
	}
	var lite *sqlite.Error
	if !errors.As(err, &lite) {
		return fmt.Errorf("%s: %w", doing, err)
	}
	return b.explainCode(doing, lite)
}

// isCode says whether an error is one of SQLite with a primary code.
func isCode(err error, code int) bool {
	var lite *sqlite.Error
	return errors.As(err, &lite) && lite.Code()&0xff == code
}

// explainCode does it for an error of SQLite.
func (b *Book) explainCode(doing string, err *sqlite.Error) error {
	switch err.Code() & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return failBy(err, ErrBusy, "%s: another program has been writing to the book in %s for more than %s (%s); nothing was stored, do it again when the other is done",
			doing, b.dir, b.wait, b.others())
	case sqlite3.SQLITE_FULL:
		return failBy(err, ErrDiskFull, "%s: the disk that holds %s is full; nothing of it was stored, make room and do it again", doing, b.dir)
	case sqlite3.SQLITE_IOERR:
		return failBy(err, ErrDiskFull, "%s: the disk that holds %s cannot be read or written, it may be full or failing; nothing of it was stored", doing, b.dir)
	case sqlite3.SQLITE_READONLY:
		return failBy(err, ErrReadOnly, "%s: the book in %s cannot be written; nothing was stored", doing, b.dir)
	case sqlite3.SQLITE_CANTOPEN:
		return failBy(err, ErrReadOnly, "%s: the database in %s cannot be opened; if a program was stopped while writing and the folder cannot be written, copy the folder to where you may write and open it there", doing, b.dir)
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return failBy(err, ErrDamaged, "%s: the database in %s is damaged; keep a copy of the folder as it is before anything else", doing, b.dir)
	}
	return fmt.Errorf("%s: %w", doing, err)
}
