package store

import (
	"context"
	"database/sql"

	"setwright/internal/receiver"
)

var modifications = shelf[receiver.Modification]{
	word: "modification", table: "modifications",
	id:      func(v receiver.Modification) string { return v.ID },
	columns: []string{"set_id"},
	values:  func(v receiver.Modification) []any { return []any{v.SetID} },
	check:   checkModification,
	after:   indexClaims,
	before:  forgetClaims,
}

// AddModification stores a new modification with its claims. The ids of claims
// are unique in a book; ModificationID of each is filled in.
func (b *Book) AddModification(ctx context.Context, v receiver.Modification) error {
	return modifications.add(ctx, b, owned(v))
}

// UpdateModification changes a modification, claims included, and keeps its
// old form.
func (b *Book) UpdateModification(ctx context.Context, v receiver.Modification, reason string) error {
	return modifications.update(ctx, b, owned(v), reason)
}

// DeleteModification deletes a modification that no configuration has in it,
// else ErrInUse.
func (b *Book) DeleteModification(ctx context.Context, id, reason string) error {
	return modifications.remove(ctx, b, id, reason)
}

// Modification returns a modification, or ErrNotFound.
func (b *Book) Modification(ctx context.Context, id string) (receiver.Modification, error) {
	return modifications.get(ctx, b, id)
}

// Modifications returns those of a set in the order of entering.
func (b *Book) Modifications(ctx context.Context, setID string) ([]receiver.Modification, error) {
	return modifications.list(ctx, b, "set_id = $1", setID)
}

// Claim returns a claim and the modification that makes it, or ErrNotFound.
func (b *Book) Claim(ctx context.Context, id string) (receiver.Claim, receiver.Modification, error) {
	var owner string
	err := b.read(ctx).QueryRowContext(ctx, "SELECT modification_id FROM claims WHERE id = $1", id).Scan(&owner)
	if err == sql.ErrNoRows {
		err = fail(ErrNotFound, "there is no claim %q in this book", id)
	}
	if err != nil {
		return receiver.Claim{}, receiver.Modification{}, b.explain("reading a claim", err)
	}
	m, err := b.Modification(ctx, owner)
	if err != nil {
		return receiver.Claim{}, m, err
	}
	for _, c := range m.Claims {
		if c.ID == id {
			return c, m, nil
		}
	}
	return receiver.Claim{}, m, fail(ErrDamaged, "claim %q is listed for modification %q, which does not make it", id, owner)
}

// owned returns the modification with its id in each claim.
func owned(v receiver.Modification) receiver.Modification {
	v.Claims = append([]receiver.Claim(nil), v.Claims...)
	for i := range v.Claims {
		v.Claims[i].ModificationID = v.ID
	}
	return v
}

func checkModification(ctx context.Context, q querier, name string, v receiver.Modification) error {
	if err := refersTo(ctx, q, name, "set", "SELECT 1 FROM sets WHERE id = $1", v.SetID); err != nil {
		return err
	}
	seen := make(map[string]bool)
	for _, c := range v.Claims {
		if err := checkID("claim", c.ID); err != nil {
			return err
		}
		taken, err := exists(ctx, q, "SELECT 1 FROM claims WHERE id = $1 AND modification_id <> $2", c.ID, v.ID)
		if err != nil {
			return err
		}
		if taken || seen[c.ID] {
			return fail(ErrExists, "%s: there is a claim %q already in this book", name, c.ID)
		}
		seen[c.ID] = true
	}
	return nil
}

// indexClaims lists the claims of a modification so that they are found by id.
func indexClaims(ctx context.Context, q querier, v receiver.Modification) error {
	if _, err := q.ExecContext(ctx, "DELETE FROM claims WHERE modification_id = $1", v.ID); err != nil {
		return err
	}
	for _, c := range v.Claims {
		if _, err := q.ExecContext(ctx, "INSERT INTO claims (id, modification_id) VALUES ($1, $2)", c.ID, v.ID); err != nil {
			return err
		}
	}
	return nil
}

// forgetClaims prepares a modification for deletion.
func forgetClaims(ctx context.Context, q querier, name, id string) error {
	all, err := collect(ctx, q, "SELECT id, doc FROM configurations", func(rows *sql.Rows) (receiver.Configuration, error) {
		var which string
		var doc []byte
		if err := rows.Scan(&which, &doc); err != nil {
			return receiver.Configuration{}, err
		}
		return decode[receiver.Configuration](configurations.name(which), doc)
	})
	if err != nil {
		return err
	}
	for _, c := range all {
		for _, m := range c.Modifications {
			if m == id {
				return fail(ErrInUse, "%s cannot be deleted: configuration %q has it in", name, c.ID)
			}
		}
	}
	_, err = q.ExecContext(ctx, "DELETE FROM claims WHERE modification_id = $1", id)
	return err
}
