package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
)

// The kinds of small things kept by name.
const (
	kindAmount  = "amount"
	kindPlan    = "plan"
	kindSetting = "setting"
)

// Amount is the difference in a figure that matters to the owner of this book:
// an absolute one in the figure's unit, or a fraction where Relative is set.
type Amount struct {
	Figure   string  `json:"figure"`
	Amount   float64 `json:"amount"`
	Relative bool    `json:"relative,omitempty"`
	Reason   string  `json:"reason"`
}

// SetAmount stores the amount that matters for a figure.
func (b *Book) SetAmount(ctx context.Context, a Amount) error {
	if err := checkID("figure", a.Figure); err != nil {
		return err
	}
	if !(a.Amount > 0) || math.IsInf(a.Amount, 0) {
		return fail(ErrInvalid, "the amount that matters for %s is %v, expected a finite number above 0", a.Figure, a.Amount)
	}
	if a.Reason == "" {
		return fail(ErrInvalid, "the amount that matters for %s has no reason: say why, for the next reader", a.Figure)
	}
	doc, err := encode("the amount for "+a.Figure, a)
	if err != nil {
		return err
	}
	return b.putNote(ctx, kindAmount, a.Figure, doc)
}

// DropAmount returns a figure to the amount that is usual.
func (b *Book) DropAmount(ctx context.Context, figure string) error {
	return b.dropNote(ctx, kindAmount, figure)
}

// Amounts returns the amounts set in this book, by figure.
func (b *Book) Amounts(ctx context.Context) ([]Amount, error) {
	docs, err := b.notes(ctx, kindAmount)
	if err != nil {
		return nil, err
	}
	var out []Amount
	for _, d := range docs {
		a, err := decode[Amount]("an amount that matters", []byte(d.doc))
		if err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

// PutPlan stores the plan for a claim as JSON.
func (b *Book) PutPlan(ctx context.Context, claimID string, plan []byte) error {
	if !json.Valid(plan) {
		return fail(ErrInvalid, "the plan for claim %q is not JSON", claimID)
	}
	if _, _, err := b.Claim(ctx, claimID); err != nil {
		return err
	}
	return b.putNote(ctx, kindPlan, claimID, string(plan))
}

// Plan returns the plan for a claim, or ErrNotFound.
func (b *Book) Plan(ctx context.Context, claimID string) ([]byte, error) {
	doc, err := b.note(ctx, kindPlan, claimID)
	return []byte(doc), err
}

// Plans returns all plans by claim id.
func (b *Book) Plans(ctx context.Context) (map[string][]byte, error) {
	docs, err := b.notes(ctx, kindPlan)
	out := make(map[string][]byte, len(docs))
	for _, d := range docs {
		out[d.name] = []byte(d.doc)
	}
	return out, err
}

// DropPlan deletes the plan for a claim.
func (b *Book) DropPlan(ctx context.Context, claimID string) error {
	return b.dropNote(ctx, kindPlan, claimID)
}

// PutSetting stores a setting of the bench.
func (b *Book) PutSetting(ctx context.Context, name, value string) error {
	if err := checkID("setting", name); err != nil {
		return err
	}
	return b.putNote(ctx, kindSetting, name, value)
}

// Setting returns a setting, or ErrNotFound.
func (b *Book) Setting(ctx context.Context, name string) (string, error) {
	return b.note(ctx, kindSetting, name)
}

// Settings returns all settings by name.
func (b *Book) Settings(ctx context.Context) (map[string]string, error) {
	docs, err := b.notes(ctx, kindSetting)
	out := make(map[string]string, len(docs))
	for _, d := range docs {
		out[d.name] = d.doc
	}
	return out, err
}

func (b *Book) putNote(ctx context.Context, kind, name, doc string) error {
	return b.write(ctx, fmt.Sprintf("storing %s %q", kind, name), func(tx querier) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO notes (kind, name, doc) VALUES ($1, $2, $3) ON CONFLICT (kind, name) DO UPDATE SET doc = $3", kind, name, doc)
		return err
	})
}

func (b *Book) dropNote(ctx context.Context, kind, name string) error {
	return b.write(ctx, fmt.Sprintf("deleting %s %q", kind, name), func(tx querier) error {
		_, err := tx.ExecContext(ctx, "DELETE FROM notes WHERE kind = $1 AND name = $2", kind, name)
		return err
	})
}

func (b *Book) note(ctx context.Context, kind, name string) (doc string, err error) {
	err = b.read(ctx).QueryRowContext(ctx, "SELECT doc FROM notes WHERE kind = $1 AND name = $2", kind, name).Scan(&doc)
	if err == sql.ErrNoRows {
		err = fail(ErrNotFound, "there is no %s %q in this book", kind, name)
	}
	return doc, b.explain("reading a "+kind, err)
}

// named is one small thing.
type named struct{ name, doc string }

func (b *Book) notes(ctx context.Context, kind string) ([]named, error) {
	out, err := collect(ctx, b.read(ctx), "SELECT name, doc FROM notes WHERE kind = $1 ORDER BY name", func(rows *sql.Rows) (n named, err error) {
		err = rows.Scan(&n.name, &n.doc)
		return n, err
	}, kind)
	return out, b.explain("listing "+kind+"s", err)
}
