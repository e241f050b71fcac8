package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// What a change did to an entry.
const (
	ActionChange = "change"
	ActionDelete = "delete"
)

// Change is one change or deletion of an entry, with the entry as it was
// before. Restore puts that back.
type Change struct {
	ID      int64
	Made    time.Time
	Word    string // "set", "configuration", "state", "modification", "run"
	EntryID string
	Action  string
	Reason  string
	Before  json.RawMessage
}

// Changes returns the changes of an entry, the last one first. An empty word
// gives those of all entries, an empty id those of all entries of the word; at
// most limit of them.
func (b *Book) Changes(ctx context.Context, word, entryID string, limit int) ([]Change, error) {
	query := "SELECT id, made, word, entry_id, action, reason, before_doc FROM changes WHERE (word = $1 OR $1 = '') AND (entry_id = $2 OR $2 = '') ORDER BY id DESC LIMIT $3"
	out, err := collect(ctx, b.read(ctx), query, scanChange, word, entryID, limit)
	return out, b.explain("listing changes", err)
}

// Restore puts the entry of a change back as it was before it. That is itself
// a change, so it can be undone as well.
func (b *Book) Restore(ctx context.Context, id int64) error {
	doing := fmt.Sprintf("undoing change %d", id)
	return b.write(ctx, doing, func(tx querier) error {
		found, err := collect(ctx, tx, "SELECT id, made, word, entry_id, action, reason, before_doc FROM changes WHERE id = $1", scanChange, id)
		if err != nil {
			return err
		}
		if len(found) == 0 {
			return fail(ErrNotFound, "there is no change %d in this book", id)
		}
		c, reason := found[0], fmt.Sprintf("change %d undone", id)
		switch c.Word {
		case sets.word:
			return sets.restore(ctx, b, tx, c.Before, reason)
		case configurations.word:
			return configurations.restore(ctx, b, tx, c.Before, reason)
		case states.word:
			return states.restore(ctx, b, tx, c.Before, reason)
		case modifications.word:
			return modifications.restore(ctx, b, tx, c.Before, reason)
		case runs.word:
			return runs.restore(ctx, b, tx, c.Before, reason)
		}
		return fail(ErrDamaged, "change %d is of a %q, which this program does not know", id, c.Word)
	})
}

// record keeps a change.
func (b *Book) record(ctx context.Context, tx querier, c Change) error {
	if err := tx.QueryRowContext(ctx, "SELECT COALESCE(MAX(id), 0) + 1 FROM changes").Scan(&c.ID); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO changes (id, made, word, entry_id, action, reason, before_doc) VALUES ($1, $2, $3, $4, $5, $6, $7)",
		c.ID, stamp(b.clock()), c.Word, c.EntryID, c.Action, c.Reason, string(c.Before))
	return err
}

func scanChange(rows *sql.Rows) (c Change, err error) {
	var made string
	var before []byte
	if err := rows.Scan(&c.ID, &made, &c.Word, &c.EntryID, &c.Action, &c.Reason, &before); err != nil {
		return c, err
	}
	c.Before = before
	c.Made, err = time.Parse(time.RFC3339Nano, made)
	return c, err
}

func isKind(err, kind error) bool { return err != nil && errors.Is(err, kind) }
