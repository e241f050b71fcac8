package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"

	"setwright/internal/run"
)

// keptPerMethod is how many results of one method on one run the cache holds.
const keptPerMethod = 8

// FigureKey returns the key under which the figures of a run are cached: a
// hash over everything they depend on. These are the method and its version,
// the digest of the raw readings, the amendments, the run's options and set-up
// with the calibrations in it, and whatever else the method uses: further
// options and the versions of tables, as text in a fixed order. Title, notes
// and origin of the run take no part.
func FigureKey(method, digest string, r run.Run, amendments []run.Amendment, further ...string) (string, error) {
	r.Title, r.Notes, r.Origin, r.Entered, r.Open = "", "", run.Origin{}, time.Time{}, false
	r.Started = r.Started.UTC()
	doc, err := json.Marshal([]any{"figures 1", method, digest, r, amendments, further})
	if err != nil {
		return "", failBy(err, ErrInvalid, "run %q: a number in its set-up is not finite", r.ID)
	}
	sum := sha256.Sum256(doc)
	return hex.EncodeToString(sum[:]), nil
}

// Figures returns the cached figures of a key, or false.
func (b *Book) Figures(ctx context.Context, key string) (doc []byte, ok bool, err error) {
	err = b.read(ctx).QueryRowContext(ctx, "SELECT doc FROM figures WHERE cache_key = $1", key).Scan(&doc)
	if err == sql.ErrNoRows {
		return nil, false, nil
	}
	return doc, err == nil, b.explain("reading figures", err)
}

// PutFigures caches the figures of a run under a key. Of each method the last
// few of a run are kept.
func (b *Book) PutFigures(ctx context.Context, key, runID, method string, doc []byte) error {
	doing := fmt.Sprintf("storing figures of run %q", runID)
	return b.write(ctx, doing, func(tx querier) error {
		if _, err := runs.doc(ctx, tx, runID); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO figures (cache_key, run_id, method, made, doc) VALUES ($1, $2, $3, $4, $5) ON CONFLICT (cache_key) DO UPDATE SET run_id = $2, method = $3, made = $4, doc = $5",
			key, runID, method, stamp(b.clock()), doc)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, "DELETE FROM figures WHERE run_id = $1 AND method = $2 AND cache_key <> $3 AND cache_key NOT IN (SELECT cache_key FROM figures WHERE run_id = $1 AND method = $2 ORDER BY made DESC, cache_key LIMIT $4)",
			runID, method, key, keptPerMethod)
		return err
	})
}

// DropFigures empties the cache. Nothing is lost: figures are computed again.
func (b *Book) DropFigures(ctx context.Context) error {
	return b.write(ctx, "dropping figures", func(tx querier) error {
		_, err := tx.ExecContext(ctx, "DELETE FROM figures")
		return err
	})
}
