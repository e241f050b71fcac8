package store

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// abandoned is the age at which a file that was being taken in belongs to no
// living program any more.
const abandoned = 24 * time.Hour

// SweepFiles deletes the stored files that no run has and that keep does not
// want, and returns how many. An import that was given up leaves such a file,
// a program killed in between leaves one that the book does not know at all.
func (b *Book) SweepFiles(ctx context.Context, keep func(sum string) bool) (n int, err error) {
	err = b.write(ctx, "sweeping files", func(tx querier) error {
		loose, err := collect(ctx, tx, "SELECT sha256 FROM files WHERE sha256 NOT IN (SELECT sha256 FROM run_files)", scanText)
		if err != nil {
			return err
		}
		for _, sum := range loose {
			if keep != nil && keep(sum) {
				continue
			}
			if _, err := tx.ExecContext(ctx, "DELETE FROM files WHERE sha256 = $1", sum); err != nil {
				return err
			}
			if err := os.Remove(b.filePath(sum)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("deleting %s: %w", sum, err)
			}
			n++
		}
		unknown, err := b.sweepUnknown(ctx, tx)
		n += unknown
		return err
	})
	return n, err
}

// sweepUnknown deletes files under recordings that the book does not know: a
// program was killed between moving one there and noting it.
func (b *Book) sweepUnknown(ctx context.Context, q querier) (n int, err error) {
	found, _ := filepath.Glob(filepath.Join(escapeGlob(b.dir), recordingsName, "??", strings.Repeat("?", 2*sha256.Size)))
	if len(found) == 0 {
		return 0, nil
	}
	all, err := collect(ctx, q, "SELECT sha256 FROM files", scanText)
	if err != nil {
		return 0, err
	}
	known := make(map[string]bool, len(all))
	for _, sum := range all {
		known[sum] = true
	}
	for sum := range b.placedFiles() {
		known[sum] = true
	}
	for _, path := range found {
		if known[filepath.Base(path)] || !old(path) {
			continue
		}
		if err := os.Remove(path); err != nil {
			return n, fmt.Errorf("deleting %s: %w", path, err)
		}
		n++
	}
	return n, nil
}

// old says that a file that was being taken in belongs to no living program.
func old(path string) bool {
	info, err := os.Stat(path)
	return err == nil && time.Since(info.ModTime()) > abandoned
}

// sweep deletes what killed programs left half made, once it is old enough to
// belong to no living one. What cannot be deleted now is left for another day.
func (b *Book) sweep(ctx context.Context) {
	for _, pattern := range []string{filepath.Join(recordingsName, incomingPrefix+"*"), dbName + ".new-*", dbName + ".before-*.new-*"} {
		found, _ := filepath.Glob(filepath.Join(escapeGlob(b.dir), pattern))
		for _, path := range found {
			if old(path) {
				_ = os.Remove(path)
			}
		}
	}
	_, _ = b.sweepUnknown(ctx, b.writer)
	b.sweepGrowing(ctx)
}
