package store

import (
	"context"
	"fmt"

	"setwright/internal/run"
	"setwright/internal/store/columnar"
)

// OpenRun stores the heading of a run whose readings are still being taken.
func (b *Book) OpenRun(ctx context.Context, r run.Run) error {
	return b.write(ctx, "opening "+runs.name(r.ID), func(tx querier) error {
		return b.insertRun(ctx, tx, r, true)
	})
}

// AppendReadings adds readings to an open run. When it returns nil they are on
// the disk. ErrClosed if the run is not open.
func (b *Book) AppendReadings(ctx context.Context, runID string, s run.Series) error {
	return b.write(ctx, "storing readings of "+runs.name(runID), func(tx querier) error {
		t, err := openTable(ctx, tx, runID)
		if err != nil || s.Len() == 0 {
			return err
		}
		columns, err := t.admit(s)
		if err != nil {
			return err
		}
		for from := 0; from < s.Len(); from += chunkRows {
			c, err := t.pack(window(columns, from, min(s.Len(), from+chunkRows)))
			if err != nil {
				return err
			}
			if err := c.insert(ctx, tx, runID); err != nil {
				return err
			}
		}
		return t.save(ctx, tx)
	})
}

// CloseRun ends the taking of readings. The many small chunks become few; the
// readings and their digest stay the same, which is checked.
func (b *Book) CloseRun(ctx context.Context, runID string) error {
	return b.write(ctx, "closing "+runs.name(runID), func(tx querier) error {
		t, err := openTable(ctx, tx, runID)
		if err != nil {
			return err
		}
		t.open = false
		if t.chunks > 1 {
			return t.repack(ctx, tx)
		}
		return t.save(ctx, tx)
	})
}

// ReopenRun lets more readings be added to a closed run: it was closed too
// early.
func (b *Book) ReopenRun(ctx context.Context, runID string) error {
	return b.write(ctx, "opening "+runs.name(runID)+" again", func(tx querier) error {
		t, err := loadTable(ctx, tx, runID)
		if err != nil {
			return err
		}
		t.open = true
		return t.save(ctx, tx)
	})
}

// openTable is loadTable of a run that is open.
func openTable(ctx context.Context, tx querier, runID string) (*table, error) {
	t, err := loadTable(ctx, tx, runID)
	if err == nil && !t.open {
		err = fail(ErrClosed, "%s is closed: no more readings can be added to it", runs.name(runID))
	}
	return t, err
}

// repack joins small chunks into full ones. New chunks take numbers after the
// old ones, then their own, so that the order is never in doubt.
func (t *table) repack(ctx context.Context, tx querier) error {
	fresh := newTable(t.runID, t.open)
	fresh.columns = t.columns
	put := func(columns []columnar.Column) error {
		c, err := fresh.pack(columns)
		if err != nil {
			return err
		}
		c.seq += t.chunks
		return c.insert(ctx, tx, t.runID)
	}
	var rest []columnar.Column
	err := eachBlock(ctx, tx, t, func(_ int, columns []columnar.Column) error {
		for from, n := 0, len(columns[0].Values); from < n; {
			have := 0
			if rest != nil {
				have = len(rest[0].Values)
			}
			to := min(n, from+chunkRows-have)
			rest = join(rest, window(columns, from, to))
			if len(rest[0].Values) == chunkRows {
				if err := put(rest); err != nil {
					return err
				}
				rest = nil
			}
			from = to
		}
		return nil
	})
	if err == nil && rest != nil {
		err = put(rest)
	}
	if err != nil {
		return err
	}
	if got := fresh.hashes.sum(fresh.columns, fresh.rows); got != t.digest {
		return fail(ErrDamaged, "the readings of run %q do not have the digest they were stored with (%s, expected %s); nothing was changed", t.runID, got, t.digest)
	}
	return fresh.takePlace(ctx, tx, t.chunks)
}

// takePlace removes the first old chunks and moves the new ones to their
// numbers.
func (t *table) takePlace(ctx context.Context, tx querier, old int) error {
	if _, err := tx.ExecContext(ctx, "DELETE FROM chunks WHERE run_id = $1 AND seq < $2", t.runID, old); err != nil {
		return err
	}
	for seq := range t.chunks {
		if _, err := tx.ExecContext(ctx, "UPDATE chunks SET seq = $3 WHERE run_id = $1 AND seq = $2", t.runID, seq+old, seq); err != nil {
			return fmt.Errorf("moving chunk %d: %w", seq, err)
		}
	}
	return t.save(ctx, tx)
}
