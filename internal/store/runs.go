package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"

	"setwright/internal/run"
)

var runs = shelf[run.Run]{
	word: "run", table: "runs",
	id:      func(v run.Run) string { return v.ID },
	columns: []string{"state_id", "measurement", "started", "entered"},
	values: func(v run.Run) []any {
		return []any{v.StateID, v.Measurement, stamp(v.Started), stamp(v.Entered)}
	},
	check: checkRun,
}

// RunFilter picks runs. Empty fields pick all; hidden runs only come where
// Hidden is set.
type RunFilter struct {
	SetID       string
	StateID     string
	Measurement string
	Hidden      bool
}

// Run returns the heading of a run, or ErrNotFound.
func (b *Book) Run(ctx context.Context, id string) (run.Run, error) {
	out, err := b.runsWhere(ctx, "r.id = $1", id)
	if err == nil && len(out) == 0 {
		err = fail(ErrNotFound, "there is no run %q in this book", id)
	}
	if err != nil {
		return run.Run{}, b.explain(fmt.Sprintf("reading run %q", id), err)
	}
	return out[0], nil
}

// Runs returns the headings of runs by the moment they began; those that do
// not know it come first.
func (b *Book) Runs(ctx context.Context, f RunFilter) ([]run.Run, error) {
	where, args := []string{"1 = 1"}, []any{}
	pick := func(column, value string) {
		if value != "" {
			args = append(args, value)
			where = append(where, fmt.Sprintf("%s = $%d", column, len(args)))
		}
	}
	pick("s.set_id", f.SetID)
	pick("r.state_id", f.StateID)
	pick("r.measurement", f.Measurement)
	if !f.Hidden {
		where = append(where, "r.hidden = ''")
	}
	out, err := b.runsWhere(ctx, strings.Join(where, " AND "), args...)
	return out, b.explain("listing runs", err)
}

func (b *Book) runsWhere(ctx context.Context, where string, args ...any) ([]run.Run, error) {
	query := "SELECT r.id, r.doc, t.open FROM runs r JOIN states s ON s.id = r.state_id JOIN series t ON t.run_id = r.id WHERE " + where + " ORDER BY r.started, r.place"
	return collect(ctx, b.read(ctx), query, func(rows *sql.Rows) (run.Run, error) {
		var id string
		var doc []byte
		var open bool
		if err := rows.Scan(&id, &doc, &open); err != nil {
			return run.Run{}, err
		}
		r, err := decode[run.Run](runs.name(id), doc)
		r.Open = open
		return r, err
	}, args...)
}

// AmendRun puts the heading of a run right: title, notes, set-up, options,
// state, beginning. The reason is needed and the old heading is kept. How and
// when the readings came in, and the readings, stay as they are.
func (b *Book) AmendRun(ctx context.Context, r run.Run, reason string) error {
	return b.write(ctx, "changing "+runs.name(r.ID), func(tx querier) error {
		old, err := runs.doc(ctx, tx, r.ID)
		if err != nil {
			return err
		}
		if strings.TrimSpace(reason) == "" {
			return fail(ErrInvalid, "%s cannot be changed without a reason: say why, for the next reader", runs.name(r.ID))
		}
		was, err := decode[run.Run](runs.name(r.ID), []byte(old))
		if err != nil {
			return err
		}
		r.Entered, r.Origin, r.Open = was.Entered, was.Origin, false
		return runs.replace(ctx, b, tx, r, old, reason)
	})
}

// HideRun takes a run out of sight, for a reason; it stays in the book.
func (b *Book) HideRun(ctx context.Context, id, reason string) error {
	if strings.TrimSpace(reason) == "" {
		return fail(ErrInvalid, "%s cannot be hidden without a reason: say why, for the next reader", runs.name(id))
	}
	return b.setHidden(ctx, "hiding "+runs.name(id), id, reason)
}

// ShowRun brings a hidden run back.
func (b *Book) ShowRun(ctx context.Context, id string) error {
	return b.setHidden(ctx, "showing "+runs.name(id), id, "")
}

func (b *Book) setHidden(ctx context.Context, doing, id, reason string) error {
	return b.write(ctx, doing, func(tx querier) error {
		if _, err := runs.doc(ctx, tx, id); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "UPDATE runs SET hidden = $2 WHERE id = $1", id, reason)
		return err
	})
}

// Hidden returns why a run is hidden, or "" where it is not.
func (b *Book) Hidden(ctx context.Context, id string) (reason string, err error) {
	err = b.read(ctx).QueryRowContext(ctx, "SELECT hidden FROM runs WHERE id = $1", id).Scan(&reason)
	if err == sql.ErrNoRows {
		err = fail(ErrNotFound, "there is no run %q in this book", id)
	}
	return reason, b.explain(fmt.Sprintf("reading run %q", id), err)
}

// insertRun writes the heading of a new run and its empty series.
func (b *Book) insertRun(ctx context.Context, tx querier, r run.Run, open bool) error {
	if err := checkID("run", r.ID); err != nil {
		return err
	}
	there, err := exists(ctx, tx, "SELECT 1 FROM runs WHERE id = $1", r.ID)
	if err != nil {
		return err
	}
	if there {
		return fail(ErrExists, "there is a run %q already in this book", r.ID)
	}
	if r.Entered.IsZero() {
		r.Entered = b.clock()
	}
	r.Open = false
	if err := runs.insert(ctx, tx, r); err != nil {
		return err
	}
	if err := newTable(r.ID, open).create(ctx, tx); err != nil {
		return err
	}
	if r.Origin.SHA256 == "" {
		return nil
	}
	return attach(ctx, tx, r.ID, r.Origin.SHA256, r.Origin.Name)
}

// checkRun says whether a heading is fit to be stored.
func checkRun(ctx context.Context, q querier, name string, r run.Run) error {
	if err := refersTo(ctx, q, name, "state", "SELECT 1 FROM states WHERE id = $1", r.StateID); err != nil {
		return err
	}
	if r.Measurement == "" {
		return fail(ErrInvalid, "%s does not say which measurement it is of", name)
	}
	if l := r.Origin.Layout; l != "" && !json.Valid([]byte(l)) {
		return fail(ErrInvalid, "%s: the layout of its file is not JSON", name)
	}
	return nil
}
