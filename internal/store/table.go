package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"math"

	"setwright/internal/run"
	"setwright/internal/store/columnar"
)

// chunkRows is how many readings a chunk of an import holds.
const chunkRows = 16384

// columnHead is what a series knows of a column beside its values.
type columnHead struct {
	Role       string  `json:"role"`
	Unit       string  `json:"unit"`
	Resolution float64 `json:"resolution,omitempty"`
}

// table is the series of a run as the book knows it, without the readings.
type table struct {
	runID   string
	open    bool
	columns []columnHead
	rows    int
	chunks  int
	digest  string
	hashes  digester
}

func newTable(runID string, open bool) *table {
	t := &table{runID: runID, open: open, hashes: newDigester()}
	t.digest = t.hashes.sum(nil, 0)
	return t
}

// create writes the row of a new series.
func (t *table) create(ctx context.Context, tx querier) error {
	values, text, err := t.hashes.states()
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, "INSERT INTO series (run_id, open, columns, readings, chunks, digest, value_state, text_state) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
		t.runID, bit(t.open), "[]", 0, 0, t.digest, values, text)
	return err
}

// save writes it after a change.
func (t *table) save(ctx context.Context, tx querier) error {
	columns, err := encode(runs.name(t.runID), t.columns)
	if err != nil {
		return err
	}
	values, text, err := t.hashes.states()
	if err != nil {
		return err
	}
	t.digest = t.hashes.sum(t.columns, t.rows)
	_, err = tx.ExecContext(ctx, "UPDATE series SET open = $2, columns = $3, readings = $4, chunks = $5, digest = $6, value_state = $7, text_state = $8 WHERE run_id = $1",
		t.runID, bit(t.open), columns, t.rows, t.chunks, t.digest, values, text)
	return err
}

// loadTable reads it, or gives ErrNotFound.
func loadTable(ctx context.Context, q querier, runID string) (*table, error) {
	t := &table{runID: runID}
	var columns, values, text []byte
	err := q.QueryRowContext(ctx, "SELECT open, columns, readings, chunks, digest, value_state, text_state FROM series WHERE run_id = $1", runID).
		Scan(&t.open, &columns, &t.rows, &t.chunks, &t.digest, &values, &text)
	if err == sql.ErrNoRows {
		return nil, fail(ErrNotFound, "there is no run %q in this book", runID)
	}
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(columns, &t.columns); err != nil {
		return nil, failBy(err, ErrDamaged, "the columns of run %q cannot be read", runID)
	}
	t.hashes, err = resume(values, text)
	if err != nil { // saved by another version of the hash: compute it again
		t.hashes, err = rehash(ctx, q, t)
	}
	return t, err
}

// rehash computes the hashes from the readings.
func rehash(ctx context.Context, q querier, t *table) (digester, error) {
	d := newDigester()
	err := eachBlock(ctx, q, t, func(first int, columns []columnar.Column) error {
		d.add(columns, first)
		return nil
	})
	return d, err
}

// admit checks that a batch fits the series and takes over its columns where
// the series has none yet. Of the resolutions given, the coarsest holds.
func (t *table) admit(s run.Series) ([]columnar.Column, error) {
	if len(t.columns) == 0 {
		if err := t.adopt(s); err != nil {
			return nil, err
		}
	}
	if len(s.Columns) != len(t.columns) {
		return nil, fail(ErrInvalid, "%s has %d columns, the readings have %d", runs.name(t.runID), len(t.columns), len(s.Columns))
	}
	out := make([]columnar.Column, len(s.Columns))
	for i, c := range s.Columns {
		if c.Role != t.columns[i].Role || c.Unit != t.columns[i].Unit {
			return nil, fail(ErrInvalid, "column %d of %s is %s in %q, that of the readings %s in %q", i+1, runs.name(t.runID), t.columns[i].Role, t.columns[i].Unit, c.Role, c.Unit)
		}
		if len(c.Values) != s.Len() || c.Text != nil && len(c.Text) != s.Len() {
			return nil, fail(ErrInvalid, "column %s of %s: %d values and %d texts, expected %d, as in the first column", c.Role, runs.name(t.runID), len(c.Values), len(c.Text), s.Len())
		}
		if math.IsNaN(c.Resolution) || math.IsInf(c.Resolution, 0) || c.Resolution < 0 {
			return nil, fail(ErrInvalid, "column %s of %s: a resolution of %v, expected a finite number, 0 if unknown", c.Role, runs.name(t.runID), c.Resolution)
		}
		out[i] = columnar.Column{Values: c.Values, Text: c.Text}
	}
	for i, c := range s.Columns {
		t.columns[i].Resolution = max(t.columns[i].Resolution, c.Resolution)
	}
	return out, nil
}

// adopt takes over the columns of the first batch.
func (t *table) adopt(s run.Series) error {
	if len(s.Columns) > columnar.MaxColumns {
		return fail(ErrInvalid, "%s: %d columns, expected at most %d", runs.name(t.runID), len(s.Columns), columnar.MaxColumns)
	}
	seen := make(map[string]bool)
	for _, c := range s.Columns {
		if c.Role == "" || seen[c.Role] {
			return fail(ErrInvalid, "%s: a column of role %q, expected a name that no other column has", runs.name(t.runID), c.Role)
		}
		seen[c.Role] = true
		t.columns = append(t.columns, columnHead{Role: c.Role, Unit: c.Unit})
	}
	return nil
}

// chunk is a packed chunk on its way into the book.
type chunk struct {
	seq, first, rows int
	data             []byte
}

// pack takes rows into the series and returns them packed.
func (t *table) pack(columns []columnar.Column) (chunk, error) {
	data, err := columnar.Encode(columns)
	if err != nil {
		return chunk{}, failBy(err, ErrInvalid, "the readings of %s", runs.name(t.runID))
	}
	c := chunk{t.chunks, t.rows, len(columns[0].Values), data}
	t.hashes.add(columns, t.rows)
	t.rows += c.rows
	t.chunks++
	return c, nil
}

// insert writes a chunk.
func (c chunk) insert(ctx context.Context, tx querier, runID string) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO chunks (run_id, seq, first_row, readings, data) VALUES ($1, $2, $3, $4, $5)",
		runID, c.seq, c.first, c.rows, c.data)
	return err
}

// window returns rows from..to of columns.
func window(columns []columnar.Column, from, to int) []columnar.Column {
	out := make([]columnar.Column, len(columns))
	for i, c := range columns {
		out[i].Values = c.Values[from:to]
		if c.Text != nil {
			out[i].Text = c.Text[from:to]
		}
	}
	return out
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// damagedChunk says which chunk is damaged.
func damagedChunk(t *table, seq int, err error) error {
	return failBy(err, ErrDamaged, "the readings of run %q from chunk %d of %d on", t.runID, seq+1, t.chunks)
}

// wrongCount says that readings are missing.
func wrongCount(t *table, found int) error {
	return fail(ErrDamaged, "run %q has %d readings in the book, expected %s", t.runID, found, fmt.Sprint(t.rows))
}
