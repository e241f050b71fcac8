package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	sqlite3 "modernc.org/sqlite/lib"
)

const (
	dbName         = "book.db"
	recordingsName = "recordings"
)

// readers is how many reading connections a book has at most.
const readers = 8

// defaultWait is how long a writer waits for another.
const defaultWait = 10 * time.Second

// Options says how a book is opened.
type Options struct {
	// Clock gives the time written beside entries; nil is the computer's.
	Clock func() time.Time
	// ReadOnly opens a book that cannot be changed, also one in a folder that
	// cannot be written.
	ReadOnly bool
	// Create makes the folder and the book where there is none.
	Create bool
	// Wait is how long a writer waits for another before ErrBusy; zero is ten
	// seconds.
	Wait time.Duration
}

// Book is an open book. Its methods may be called from several goroutines.
type Book struct {
	dir    string
	clock  func() time.Time
	wait   time.Duration
	writer *sql.DB // one connection; nil where the book is read only
	reader *sql.DB
	turn   *turn
	notice string // our book.open-PID
}

// Open opens the book in a folder.
//
// A folder that holds no book gives ErrNotFound, unless Create is set and the
// folder is empty or missing. What is not a book (a file, a folder with other
// things, a database of another program, a damaged heading) gives ErrStranger
// and a book of a newer program ErrNewer; both are left as they are, byte for
// byte. A book of an older program is copied to book.db.before-vN, N being the
// new version, and then brought up to date; read only it gives ErrOlder.
func Open(ctx context.Context, dir string, opt Options) (*Book, error) {
	return openWith(ctx, dir, opt, migrations())
}

// openWith is Open with the steps that make the tables, so that tests can add
// to them.
func openWith(ctx context.Context, dir string, opt Options, steps []step) (*Book, error) {
	b := &Book{dir: dir, clock: opt.Clock, wait: opt.Wait, turn: newTurn()}
	if b.clock == nil {
		b.clock = time.Now
	}
	if b.wait == 0 {
		b.wait = defaultWait
	}
	found, err := b.look(len(steps))
	if err != nil {
		return nil, err
	}
	if !found {
		if !opt.Create || opt.ReadOnly {
			return nil, fail(ErrNotFound, "there is no book in %s", dir)
		}
		if err := b.create(ctx, steps); err != nil {
			return nil, err
		}
	}
	if opt.ReadOnly {
		err = b.openReading(ctx, len(steps))
	} else {
		err = b.openWriting(ctx, steps)
	}
	if err != nil {
		return nil, errors.Join(err, b.Close())
	}
	return b, nil
}

// Dir returns the folder of the book.
func (b *Book) Dir() string { return b.dir }

// ReadOnly says whether the book was opened for reading only.
func (b *Book) ReadOnly() bool { return b.writer == nil }

// Close closes the book.
func (b *Book) Close() error {
	var errs []error
	if b.reader != nil {
		errs = append(errs, b.reader.Close())
	}
	if b.writer != nil {
		errs = append(errs, b.writer.Close())
	}
	b.withdraw()
	return errors.Join(errs...)
}

// openWriting opens both handles, brings the tables up to date and sweeps up
// what a killed program left.
func (b *Book) openWriting(ctx context.Context, steps []step) error {
	if err := b.announce(); err != nil {
		return err
	}
	var err error
	b.writer, err = b.handle(dbName, 1, "_txlock=immediate", "_pragma=journal_mode(WAL)", "_pragma=synchronous(FULL)")
	if err != nil {
		return err
	}
	if err := b.migrate(ctx, steps); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Join(b.dir, recordingsName), 0o755); err != nil {
		return b.explainFile("opening the book", err)
	}
	b.sweep(ctx)
	b.reader, err = b.handle(dbName, readers, "_pragma=query_only(1)")
	return err
}

// openReading opens the reading handle only. In a folder that cannot be
// written SQLite has to be told that no one else writes either; it then does
// not look for changes that a killed program left beside the database, so there
// must be none.
func (b *Book) openReading(ctx context.Context, newest int) error {
	version, err := b.tryReading(ctx)
	if (isCode(err, sqlite3.SQLITE_CANTOPEN) || isCode(err, sqlite3.SQLITE_READONLY)) && !b.unfinished() {
		version, err = b.tryReading(ctx, "immutable=1")
	}
	if err != nil {
		return b.explain("opening the book", err)
	}
	if version > newest {
		return b.newer(version, newest)
	}
	if version < newest {
		return fail(ErrOlder, "the book in %s is of version %d and this program of version %d: open it once for writing, it is then copied and brought up to date", b.dir, version, newest)
	}
	return nil
}

// tryReading opens the reading handle and returns the version of the book.
func (b *Book) tryReading(ctx context.Context, params ...string) (version int, err error) {
	db, err := b.handle(dbName, readers, append(params, "mode=ro", "_pragma=query_only(1)")...)
	if err != nil {
		return 0, err
	}
	version, err = userVersion(ctx, db)
	if err != nil {
		return 0, errors.Join(err, db.Close())
	}
	b.reader = db
	return version, nil
}

// unfinished says whether there are changes not yet in the database itself.
func (b *Book) unfinished() bool {
	wal, err := os.Stat(filepath.Join(b.dir, dbName+"-wal"))
	return err == nil && wal.Size() > 0
}

// handle returns a pool of connections to a database in the folder. The
// settings stand in the name, so that every connection has them.
func (b *Book) handle(name string, connections int, params ...string) (*sql.DB, error) {
	path, err := filepath.Abs(filepath.Join(b.dir, name))
	if err != nil {
		return nil, fmt.Errorf("opening the book in %s: %w", b.dir, err)
	}
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // a drive letter
	}
	params = append([]string{
		fmt.Sprintf("_pragma=busy_timeout(%d)", b.wait.Milliseconds()),
		"_pragma=foreign_keys(1)",
	}, params...)
	name = (&url.URL{Scheme: "file", Path: path}).String() + "?" + strings.Join(params, "&")
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return nil, fmt.Errorf("opening the book in %s: %w", b.dir, err)
	}
	db.SetMaxOpenConns(connections)
	db.SetMaxIdleConns(connections)
	return db, nil
}
