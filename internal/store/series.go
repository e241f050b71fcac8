package store

import (
	"context"
	"database/sql"
	"fmt"

	"setwright/internal/run"
	"setwright/internal/store/columnar"
)

// Series returns all raw readings of a run, bit for bit as they were given.
func (b *Book) Series(ctx context.Context, runID string) (run.Series, error) {
	var out run.Series
	err := b.readSeries(ctx, runID, func(q querier, t *table) error {
		var columns []columnar.Column
		for range t.columns {
			columns = append(columns, columnar.Column{Values: make([]float64, 0, min(t.rows, t.chunks*columnar.MaxRows))})
		}
		err := eachChunk(ctx, q, t, func(_ int, data []byte) (rows int, err error) {
			before := len(columns[0].Values)
			columns, err = columnar.AppendTo(columns, data)
			return len(columns[0].Values) - before, err
		})
		out = t.series(columns)
		return err
	})
	return out, err
}

// EachChunk gives the raw readings of a run to f a chunk at a time, in order;
// first is the row of the first of them, from 0. What it is given is valid
// during the call only. The readings are those of one moment, also while more
// are being taken. f holds one of the book's few reading connections: it should
// not wait for other calls to the book.
func (b *Book) EachChunk(ctx context.Context, runID string, f func(first int, s run.Series) error) error {
	return b.readSeries(ctx, runID, func(q querier, t *table) error {
		return eachBlock(ctx, q, t, func(first int, columns []columnar.Column) error {
			return f(first, t.series(columns))
		})
	})
}

// Readings returns how many readings a run has.
func (b *Book) Readings(ctx context.Context, runID string) (n int, err error) {
	err = b.readSeries(ctx, runID, func(_ querier, t *table) error { n = t.rows; return nil })
	return n, err
}

// SeriesDigest returns the digest of a run's raw readings. It does not depend
// on how they came in. Verify says whether it still holds.
func (b *Book) SeriesDigest(ctx context.Context, runID string) (digest string, err error) {
	err = b.readSeries(ctx, runID, func(_ querier, t *table) error { digest = t.digest; return nil })
	return digest, err
}

// readSeries calls f with the series of a run as it is at one moment.
func (b *Book) readSeries(ctx context.Context, runID string, f func(q querier, t *table) error) error {
	doing := fmt.Sprintf("reading the readings of run %q", runID)
	if t := b.shared(ctx); t != nil {
		return b.explain(doing, readTable(ctx, t.tx, runID, f))
	}
	tx, err := b.reader.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return b.explain(doing, err)
	}
	defer tx.Rollback()
	return b.explain(doing, readTable(ctx, tx, runID, f))
}

func readTable(ctx context.Context, q querier, runID string, f func(q querier, t *table) error) error {
	t, err := loadTable(ctx, q, runID)
	if err != nil {
		return err
	}
	return f(q, t)
}

// series gives columns their names and units.
func (t *table) series(columns []columnar.Column) run.Series {
	var s run.Series
	for i, c := range columns {
		h := t.columns[i]
		s.Columns = append(s.Columns, run.Column{Role: h.Role, Unit: h.Unit, Resolution: h.Resolution, Values: c.Values, Text: c.Text})
	}
	return s
}

// eachChunk calls f with each packed chunk in order; f returns how many rows
// it found in it. It checks that none is missing.
func eachChunk(ctx context.Context, q querier, t *table, f func(seq int, data []byte) (rows int, err error)) error {
	rows, err := q.QueryContext(ctx, "SELECT seq, first_row, readings, data FROM chunks WHERE run_id = $1 AND seq < $2 ORDER BY seq", t.runID, t.chunks)
	if err != nil {
		return err
	}
	defer rows.Close()
	next, row := 0, 0
	for rows.Next() {
		var seq, first, n int
		var data sql.RawBytes
		if err := rows.Scan(&seq, &first, &n, &data); err != nil {
			return err
		}
		if seq != next || first != row || len(t.columns) == 0 {
			return damagedChunk(t, next, fmt.Errorf("found chunk %d with row %d, expected row %d", seq+1, first+1, row+1))
		}
		found, err := f(seq, data)
		if isKind(err, columnar.ErrDamaged) {
			return damagedChunk(t, seq, err)
		}
		if err != nil {
			return err
		}
		if found != n {
			return damagedChunk(t, seq, fmt.Errorf("found %d readings, expected %d", found, n))
		}
		next, row = next+1, row+n
	}
	if err := rows.Err(); err != nil {
		return err
	}
	if row != t.rows {
		return wrongCount(t, row)
	}
	return nil
}

// eachBlock is eachChunk with the chunks unpacked; columns are reused.
func eachBlock(ctx context.Context, q querier, t *table, f func(first int, columns []columnar.Column) error) error {
	var columns []columnar.Column
	first := 0
	return eachChunk(ctx, q, t, func(_ int, data []byte) (rows int, err error) {
		for i := range columns {
			columns[i].Values, columns[i].Text = columns[i].Values[:0], nil
		}
		if columns, err = columnar.AppendTo(columns, data); err != nil {
			return 0, err
		}
		if len(columns) != len(t.columns) {
			return 0, fmt.Errorf("%w: %d columns, expected %d", columnar.ErrDamaged, len(columns), len(t.columns))
		}
		rows = len(columns[0].Values)
		err = f(first, columns)
		first += rows
		return rows, err
	})
}
