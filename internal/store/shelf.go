package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"
	"unicode"
)

// shelf says how entries of one kind are kept: each has an id, a place in the
// order of entering, its JSON, and columns that are searched.
type shelf[T any] struct {
	word, table string // "set", "sets"
	id          func(T) string
	columns     []string // beside id, place and doc
	values      func(T) []any
	order       string // "place" if empty
	check       func(ctx context.Context, q querier, name string, v T) error
	after       func(ctx context.Context, q querier, v T) error // once the row stands
	before      func(ctx context.Context, q querier, name, id string) error
	users       []user
}

// user is a table whose rows refer to an entry, which then cannot be deleted.
type user struct{ table, column, words string }

func (s shelf[T]) name(id string) string { return fmt.Sprintf("%s %q", s.word, id) }

// add stores a new entry.
func (s shelf[T]) add(ctx context.Context, b *Book, v T) error {
	id := s.id(v)
	return b.write(ctx, "storing "+s.name(id), func(tx querier) error {
		if err := checkID(s.word, id); err != nil {
			return err
		}
		there, err := exists(ctx, tx, "SELECT 1 FROM "+s.table+" WHERE id = $1", id)
		if err != nil {
			return err
		}
		if there {
			return fail(ErrExists, "there is a %s already in this book", s.name(id))
		}
		return s.insert(ctx, tx, v)
	})
}

// insert writes the row of a new entry.
func (s shelf[T]) insert(ctx context.Context, tx querier, v T) error {
	doc, err := s.prepare(ctx, tx, v)
	if err != nil {
		return err
	}
	place, err := nextPlace(ctx, tx, s.table)
	if err != nil {
		return err
	}
	columns := append([]string{"id", "place", "doc"}, s.columns...)
	args := append([]any{s.id(v), place, doc}, s.row(v)...)
	query := fmt.Sprintf("INSERT INTO %s (%s) VALUES (%s)", s.table, strings.Join(columns, ", "), marks(len(args)))
	if _, err := tx.ExecContext(ctx, query, args...); err != nil {
		return err
	}
	return s.finish(ctx, tx, v)
}

// update puts a new form in the place of an entry and keeps the old one.
func (s shelf[T]) update(ctx context.Context, b *Book, v T, reason string) error {
	id := s.id(v)
	return b.write(ctx, "changing "+s.name(id), func(tx querier) error {
		old, err := s.doc(ctx, tx, id)
		if err != nil {
			return err
		}
		return s.replace(ctx, b, tx, v, old, reason)
	})
}

// replace does it inside a transaction.
func (s shelf[T]) replace(ctx context.Context, b *Book, tx querier, v T, old, reason string) error {
	doc, err := s.prepare(ctx, tx, v)
	if err != nil || doc == old {
		return err
	}
	if err := b.record(ctx, tx, Change{Word: s.word, EntryID: s.id(v), Action: ActionChange, Reason: reason, Before: json.RawMessage(old)}); err != nil {
		return err
	}
	args := append([]any{s.id(v), doc}, s.row(v)...)
	set := "doc = $2"
	for i, c := range s.columns {
		set += fmt.Sprintf(", %s = $%d", c, i+3)
	}
	if _, err := tx.ExecContext(ctx, "UPDATE "+s.table+" SET "+set+" WHERE id = $1", args...); err != nil {
		return err
	}
	return s.finish(ctx, tx, v)
}

// remove deletes an entry that nothing refers to and keeps it as a change.
func (s shelf[T]) remove(ctx context.Context, b *Book, id, reason string) error {
	return b.write(ctx, "deleting "+s.name(id), func(tx querier) error {
		old, err := s.doc(ctx, tx, id)
		if err != nil {
			return err
		}
		for _, u := range s.users {
			used, err := exists(ctx, tx, "SELECT 1 FROM "+u.table+" WHERE "+u.column+" = $1 LIMIT 1", id)
			if err != nil {
				return err
			}
			if used {
				return fail(ErrInUse, "%s cannot be deleted: it still has %s", s.name(id), u.words)
			}
		}
		if s.before != nil {
			if err := s.before(ctx, tx, s.name(id), id); err != nil {
				return err
			}
		}
		if err := b.record(ctx, tx, Change{Word: s.word, EntryID: id, Action: ActionDelete, Reason: reason, Before: json.RawMessage(old)}); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, "DELETE FROM "+s.table+" WHERE id = $1", id)
		return err
	})
}

// restore puts an old form back, whether the entry is there or was deleted.
func (s shelf[T]) restore(ctx context.Context, b *Book, tx querier, before []byte, reason string) error {
	v, err := decode[T](s.word, before)
	if err != nil {
		return err
	}
	old, err := s.doc(ctx, tx, s.id(v))
	if isKind(err, ErrNotFound) {
		return s.insert(ctx, tx, v)
	}
	if err != nil {
		return err
	}
	return s.replace(ctx, b, tx, v, old, reason)
}

// get returns an entry.
func (s shelf[T]) get(ctx context.Context, b *Book, id string) (T, error) {
	doc, err := s.doc(ctx, b.read(ctx), id)
	if err != nil {
		var none T
		return none, b.explain("reading "+s.name(id), err)
	}
	return decode[T](s.name(id), []byte(doc))
}

// list returns the entries that meet a condition, in order.
func (s shelf[T]) list(ctx context.Context, b *Book, where string, args ...any) ([]T, error) {
	query := "SELECT id, doc FROM " + s.table
	if where != "" {
		query += " WHERE " + where
	}
	order := s.order
	if order == "" {
		order = "place"
	}
	out, err := collect(ctx, b.read(ctx), query+" ORDER BY "+order, func(rows *sql.Rows) (v T, err error) {
		var id string
		var doc []byte
		if err := rows.Scan(&id, &doc); err != nil {
			return v, err
		}
		return decode[T](s.name(id), doc)
	}, args...)
	return out, b.explain("listing "+s.table, err)
}

// doc returns the JSON of an entry.
func (s shelf[T]) doc(ctx context.Context, q querier, id string) (doc string, err error) {
	err = q.QueryRowContext(ctx, "SELECT doc FROM "+s.table+" WHERE id = $1", id).Scan(&doc)
	if err == sql.ErrNoRows {
		return "", fail(ErrNotFound, "there is no %s in this book", s.name(id))
	}
	return doc, err
}

// prepare checks an entry and returns its JSON.
func (s shelf[T]) prepare(ctx context.Context, q querier, v T) (string, error) {
	if s.check != nil {
		if err := s.check(ctx, q, s.name(s.id(v)), v); err != nil {
			return "", err
		}
	}
	return encode(s.name(s.id(v)), v)
}

func (s shelf[T]) row(v T) []any {
	if s.values == nil {
		return nil
	}
	return s.values(v)
}

func (s shelf[T]) finish(ctx context.Context, q querier, v T) error {
	if s.after == nil {
		return nil
	}
	return s.after(ctx, q, v)
}

// nextPlace returns the place after the last one of a table.
func nextPlace(ctx context.Context, q querier, table string) (place int64, err error) {
	err = q.QueryRowContext(ctx, "SELECT COALESCE(MAX(place), 0) + 1 FROM "+table).Scan(&place)
	return place, err
}

// marks returns "$1, $2, ... $n".
func marks(n int) string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("$%d", i+1)
	}
	return strings.Join(out, ", ")
}

// encode returns the JSON of an entry. Numbers that JSON lacks are refused.
func encode(name string, v any) (string, error) {
	doc, err := json.Marshal(v)
	if err != nil {
		return "", failBy(err, ErrInvalid, "%s cannot be stored: a number in it is not finite, or a date is out of range", name)
	}
	return string(doc), nil
}

func decode[T any](name string, doc []byte) (v T, err error) {
	if err := json.Unmarshal(doc, &v); err != nil {
		return v, failBy(err, ErrDamaged, "%s cannot be read from the book", name)
	}
	return v, nil
}

// checkID refuses ids that no one could type.
func checkID(word, id string) error {
	odd := strings.IndexFunc(id, func(r rune) bool { return !unicode.IsPrint(r) || r == unicode.ReplacementChar })
	if id == "" || len(id) > 200 || odd >= 0 || strings.TrimSpace(id) != id {
		return fail(ErrInvalid, "the id %q of a %s cannot be used: expected 1 to 200 printing characters without blanks at the ends", id, word)
	}
	return nil
}
