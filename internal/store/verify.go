package store

import (
	"context"
	"database/sql"
	"fmt"

	"setwright/internal/store/columnar"
)

// Report is what Verify found.
type Report struct {
	Runs, Readings, Files int      // how many were read through
	Problems              []string // a sentence each
}

// Verify reads the whole book: the database's own checks, each entry, each chunk of
// readings with its checksum and each series with its digest, each file with
// its hash. Damage is in the report; an error says that Verify itself could not
// go on.
func (b *Book) Verify(ctx context.Context) (Report, error) {
	var r Report
	for _, part := range []func(context.Context, *Report) error{b.verifyDatabase, b.verifyEntries, b.verifySeries, b.verifyFiles} {
		if err := part(ctx, &r); err != nil {
			return r, b.explain("verifying the book", err)
		}
	}
	return r, nil
}

func (r *Report) add(format string, args ...any) {
	r.Problems = append(r.Problems, fmt.Sprintf(format, args...))
}

func (b *Book) verifyDatabase(ctx context.Context, r *Report) error {
	found, err := collect(ctx, b.read(ctx), "PRAGMA integrity_check", scanText)
	if err != nil {
		return err
	}
	for _, s := range found {
		if s != "ok" {
			r.add("database: %s", s)
		}
	}
	loose, err := foreignKeyFaults(ctx, b.reader)
	for _, s := range loose {
		r.add("database: %s", s)
	}
	return err
}

// verifyEntries reads the JSON of every entry.
func (b *Book) verifyEntries(ctx context.Context, r *Report) error {
	for _, list := range []func() error{
		func() error { _, err := sets.list(ctx, b, ""); return err },
		func() error { _, err := configurations.list(ctx, b, ""); return err },
		func() error { _, err := states.list(ctx, b, ""); return err },
		func() error { _, err := modifications.list(ctx, b, ""); return err },
		func() error { _, err := b.Runs(ctx, RunFilter{Hidden: true}); return err },
		func() error { _, err := amendments.list(ctx, b, ""); return err },
		func() error { _, err := b.Instruments(ctx); return err },
		func() error { _, err := b.Amounts(ctx); return err },
	} {
		err := list()
		if isKind(err, ErrDamaged) {
			r.add("%v", err)
		} else if err != nil {
			return err
		}
	}
	return nil
}

func (b *Book) verifySeries(ctx context.Context, r *Report) error {
	ids, err := collect(ctx, b.read(ctx), "SELECT run_id FROM series ORDER BY run_id", scanText)
	if err != nil {
		return err
	}
	for _, id := range ids {
		err := b.readSeries(ctx, id, func(q querier, t *table) error {
			d, err := rehash(ctx, q, t)
			if err != nil {
				return err
			}
			r.Readings += t.rows
			if got := d.sum(t.columns, t.rows); got != t.digest {
				r.add("run %q: its readings have the digest %s, expected %s", id, got, t.digest)
			}
			return nil
		})
		r.Runs++
		if isKind(err, ErrDamaged) || isKind(err, columnar.ErrDamaged) {
			r.add("%v", err)
		} else if err != nil {
			return err
		}
	}
	return nil
}

func (b *Book) verifyFiles(ctx context.Context, r *Report) error {
	files, err := b.Files(ctx, "")
	if err != nil {
		return err
	}
	for _, f := range files {
		err := b.VerifyFile(ctx, f.SHA256)
		r.Files++
		if isKind(err, ErrDamaged) {
			r.add("%v", err)
		} else if err != nil {
			return err
		}
	}
	return nil
}

func scanText(rows *sql.Rows) (s string, err error) {
	err = rows.Scan(&s)
	return s, err
}
