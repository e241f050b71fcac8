package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

const incomingPrefix = ".incoming-"

// File is a file in the book and the name it had when it came.
type File struct {
	SHA256 string
	Size   int64
	Name   string
}

// PutFile keeps a file byte for byte and returns its SHA-256 in hexadecimal
// and its size. A file that is there already is kept once. When it returns nil
// the file is on the disk; else nothing of it is.
func (b *Book) PutFile(ctx context.Context, r io.Reader) (sum string, size int64, err error) {
	const doing = "storing a file"
	if b.writer == nil {
		return "", 0, fail(ErrReadOnly, "%s: the book in %s is open for reading only", doing, b.dir)
	}
	temp, sum, size, err := b.takeIn(ctx, r)
	if err != nil {
		return "", 0, err
	}
	defer os.Remove(temp)
	path := b.filePath(sum)
	_, statErr := os.Stat(path)
	if err := moveInto(temp, path); err != nil {
		return "", 0, b.explainFile(doing, err)
	}
	err = b.write(ctx, doing, func(tx querier) error { return b.insertFile(ctx, tx, sum, size) })
	if err != nil && errors.Is(statErr, fs.ErrNotExist) {
		_ = os.Remove(path)
	}
	return sum, size, err
}

// insertFile notes a file that lies in its place.
func (b *Book) insertFile(ctx context.Context, tx querier, sum string, size int64) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO files (sha256, size, added) VALUES ($1, $2, $3) ON CONFLICT (sha256) DO NOTHING", sum, size, stamp(b.clock()))
	return err
}

// takeIn copies to a file of its own and makes it durable.
func (b *Book) takeIn(ctx context.Context, r io.Reader) (temp, sum string, size int64, err error) {
	const doing = "storing a file"
	f, err := os.CreateTemp(filepath.Join(b.dir, recordingsName), incomingPrefix+"*")
	if err != nil {
		return "", "", 0, b.explainFile(doing, err)
	}
	h := sha256.New()
	from := &stoppable{ctx: ctx, r: r}
	size, err = io.Copy(io.MultiWriter(f, h), from)
	if err == nil {
		err = errors.Join(f.Chmod(0o644), f.Sync())
	}
	if err = errors.Join(err, f.Close()); err != nil {
		_ = os.Remove(f.Name())
	}
	if from.err != nil { // not a fault of the book
		return "", "", 0, fmt.Errorf("%s: it could not be read to its end, nothing of it was stored: %w", doing, from.err)
	}
	return f.Name(), hex.EncodeToString(h.Sum(nil)), size, b.explainFile(doing, err)
}

// stoppable ends reading when the context ends, and remembers what went wrong.
type stoppable struct {
	ctx context.Context
	r   io.Reader
	err error
}

func (s *stoppable) Read(p []byte) (n int, err error) {
	if err = s.ctx.Err(); err == nil {
		n, err = s.r.Read(p)
	}
	if err != nil && err != io.EOF {
		s.err = err
	}
	return n, err
}

// moveInto renames a file into its folder, which it makes, durably.
func moveInto(temp, path string) error {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := os.Rename(temp, path); err != nil {
		return err
	}
	return errors.Join(syncDir(dir), syncDir(filepath.Dir(dir)))
}

func (b *Book) filePath(sum string) string {
	return filepath.Join(b.dir, recordingsName, sum[:2], sum)
}

// AttachFile notes that a stored file belongs to a run, and its name.
func (b *Book) AttachFile(ctx context.Context, runID, sum, name string) error {
	return b.write(ctx, "attaching a file to "+runs.name(runID), func(tx querier) error {
		if _, err := runs.doc(ctx, tx, runID); err != nil {
			return err
		}
		return attach(ctx, tx, runID, sum, name)
	})
}

func attach(ctx context.Context, tx querier, runID, sum, name string) error {
	if err := refersTo(ctx, tx, runs.name(runID), "file", "SELECT 1 FROM files WHERE sha256 = $1", sum); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO run_files (run_id, sha256, name) VALUES ($1, $2, $3) ON CONFLICT (run_id, sha256) DO UPDATE SET name = $3", runID, sum, name)
	return err
}

// Files returns the files of a run, by name; of the whole book for an empty
// id, by hash and without names.
func (b *Book) Files(ctx context.Context, runID string) ([]File, error) {
	query, args := "SELECT f.sha256, f.size, rf.name FROM files f JOIN run_files rf ON rf.sha256 = f.sha256 WHERE rf.run_id = $1 ORDER BY rf.name, f.sha256", []any{runID}
	if runID == "" {
		query, args = "SELECT sha256, size, '' FROM files ORDER BY sha256", nil
	}
	out, err := collect(ctx, b.read(ctx), query, func(rows *sql.Rows) (f File, err error) {
		err = rows.Scan(&f.SHA256, &f.Size, &f.Name)
		return f, err
	}, args...)
	return out, b.explain("listing files", err)
}

// OpenFile opens a stored file. Reading it to its end gives ErrDamaged in the
// place of io.EOF where it is not what was stored.
func (b *Book) OpenFile(ctx context.Context, sum string) (io.ReadCloser, error) {
	path, size, err := b.FilePath(ctx, sum)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, failBy(err, ErrDamaged, "file %s is missing from the book's recordings", sum)
	}
	return &verified{file: f, hash: sha256.New(), sum: sum, size: size}, nil
}

// VerifyFile reads a stored file to its end and gives ErrDamaged where it is
// not what was stored.
func (b *Book) VerifyFile(ctx context.Context, sum string) error {
	f, err := b.OpenFile(ctx, sum)
	if err != nil {
		return err
	}
	_, err = io.Copy(io.Discard, &stoppable{ctx: ctx, r: f})
	return errors.Join(err, f.Close())
}

// FilePath returns where a stored file lies, for programs that must seek in
// it, and its size. Nothing is verified; never write to it.
func (b *Book) FilePath(ctx context.Context, sum string) (path string, size int64, err error) {
	err = b.read(ctx).QueryRowContext(ctx, "SELECT size FROM files WHERE sha256 = $1", sum).Scan(&size)
	if err == sql.ErrNoRows {
		err = fail(ErrNotFound, "there is no file %s in this book", sum)
	}
	if err != nil {
		return "", 0, b.explain("reading a file", err)
	}
	return b.filePath(sum), size, nil
}

// verified hashes what is read.
type verified struct {
	file *os.File
	hash hash.Hash
	sum  string
	size int64
	read int64
}

func (v *verified) Read(p []byte) (int, error) {
	n, err := v.file.Read(p)
	v.hash.Write(p[:n])
	v.read += int64(n)
	if err == io.EOF {
		if got := hex.EncodeToString(v.hash.Sum(nil)); got != v.sum {
			return n, fail(ErrDamaged, "file %s is damaged: %d bytes with hash %s, expected %d bytes", v.sum, v.read, got, v.size)
		}
	}
	return n, err
}

func (v *verified) Close() error { return v.file.Close() }
