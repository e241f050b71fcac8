package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// step brings the tables from version N-1 to N, N being its place from 1.
type step struct{ name, sql string }

// migrations returns the steps in order. The file names are numbered from 1
// without a gap.
func migrations() []step {
	files, err := fs.ReadDir(migrationFiles, "migrations")
	if err != nil {
		panic("store: embedded migrations: " + err.Error())
	}
	var steps []step
	for i, f := range files {
		text, err := migrationFiles.ReadFile("migrations/" + f.Name())
		if err != nil || f.Name()[:4] != fmt.Sprintf("%04d", i+1) {
			panic("store: embedded migration " + f.Name() + " is out of order")
		}
		steps = append(steps, step{f.Name(), string(text)})
	}
	return steps
}

// create makes the folder and the database. The database is made under another
// name and put in place when it is whole, so that a crash leaves no half book.
func (b *Book) create(ctx context.Context, steps []step) error {
	if err := os.MkdirAll(b.dir, 0o755); err != nil {
		return b.explainFile("making the book", err)
	}
	name := fmt.Sprintf("%s.new-%d", dbName, os.Getpid())
	path := filepath.Join(b.dir, name)
	defer os.Remove(path)
	if err := b.build(ctx, name, steps); err != nil {
		return err
	}
	err := os.Link(path, filepath.Join(b.dir, dbName)) // fails where there is one by now
	if errors.Is(err, fs.ErrExist) {
		return nil // another program was quicker: use its book
	}
	if err != nil { // a file system without links
		err = os.Rename(path, filepath.Join(b.dir, dbName))
	}
	if err != nil {
		return b.explainFile("making the book", err)
	}
	return syncDir(b.dir)
}

// build makes a database with all tables.
func (b *Book) build(ctx context.Context, name string, steps []step) error {
	_ = os.Remove(filepath.Join(b.dir, name))
	db, err := b.handle(name, 1, "_txlock=immediate", "_pragma=journal_mode(DELETE)", "_pragma=synchronous(FULL)")
	if err != nil {
		return err
	}
	for i := range steps {
		if err = b.apply(ctx, db, steps[i], i+1); err != nil {
			break
		}
	}
	return errors.Join(err, db.Close())
}

// migrate brings an older book up to date, after a copy.
func (b *Book) migrate(ctx context.Context, steps []step) error {
	version, err := userVersion(ctx, b.writer)
	if err != nil {
		return b.explain("opening the book", err)
	}
	if version > len(steps) {
		return b.newer(version, len(steps))
	}
	if version == len(steps) {
		return nil
	}
	if err := b.copyBefore(ctx, len(steps)); err != nil {
		return err
	}
	for n := version + 1; n <= len(steps); n++ {
		if err := b.apply(ctx, b.writer, steps[n-1], n); err != nil {
			return err
		}
	}
	return nil
}

// copyBefore copies the database to book.db.before-vN.
func (b *Book) copyBefore(ctx context.Context, n int) error {
	doing := fmt.Sprintf("copying the book before bringing it to version %d", n)
	path := filepath.Join(b.dir, fmt.Sprintf("%s.before-v%d", dbName, n))
	temp := fmt.Sprintf("%s.new-%d", path, os.Getpid())
	defer os.Remove(temp)
	if _, err := b.writer.ExecContext(ctx, "VACUUM INTO $1", temp); err != nil {
		return b.explain(doing, err)
	}
	if err := syncFile(temp); err != nil {
		return b.explainFile(doing, err)
	}
	if err := os.Rename(temp, path); err != nil {
		return b.explainFile(doing, err)
	}
	return syncDir(b.dir)
}

// apply does one step in a transaction of its own. It does nothing where
// another program has done it meanwhile.
func (b *Book) apply(ctx context.Context, db *sql.DB, s step, version int) error {
	doing := fmt.Sprintf("bringing the book to version %d", version)
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return b.explain(doing, err)
	}
	defer tx.Rollback()
	now, err := userVersion(ctx, tx)
	if err != nil {
		return b.explain(doing, err)
	}
	if now >= version {
		return nil
	}
	marks := fmt.Sprintf("PRAGMA defer_foreign_keys=1; PRAGMA application_id=%d; PRAGMA user_version=%d;", applicationID, version)
	if _, err := tx.ExecContext(ctx, marks+s.sql); err != nil {
		return b.explain(fmt.Sprintf("%s (%s)", doing, s.name), err)
	}
	loose, err := foreignKeyFaults(ctx, tx)
	if err != nil {
		return b.explain(doing, err)
	}
	if len(loose) > 0 {
		return fail(ErrDamaged, "%s (%s): entries would refer to missing ones: %v; the book was left as it was", doing, s.name, loose)
	}
	return b.explain(doing, tx.Commit())
}

// querier is a pool, a connection or a transaction.
type querier interface {
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func userVersion(ctx context.Context, q querier) (version int, err error) {
	err = q.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version)
	return version, err
}

// foreignKeyFaults lists the tables with rows that refer to missing ones.
func foreignKeyFaults(ctx context.Context, q querier) ([]string, error) {
	return collect(ctx, q, "PRAGMA foreign_key_check", func(rows *sql.Rows) (string, error) {
		var table, parent string
		var row, key any
		err := rows.Scan(&table, &row, &parent, &key)
		return fmt.Sprintf("%s row %v refers to a missing row of %s", table, row, parent), err
	})
}

// collect runs a query and returns what scan makes of each row.
func collect[T any](ctx context.Context, q querier, query string, scan func(*sql.Rows) (T, error), args ...any) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}
