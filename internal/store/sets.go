package store

import (
	"context"
	"fmt"

	"setwright/internal/receiver"
)

var sets = shelf[receiver.Set]{
	word: "set", table: "sets",
	id: func(v receiver.Set) string { return v.ID },
	users: []user{
		{"configurations", "set_id", "configurations"},
		{"states", "set_id", "states"},
		{"modifications", "set_id", "modifications"},
	},
}

var configurations = shelf[receiver.Configuration]{
	word: "configuration", table: "configurations",
	id:      func(v receiver.Configuration) string { return v.ID },
	columns: []string{"set_id"},
	values:  func(v receiver.Configuration) []any { return []any{v.SetID} },
	check:   checkConfiguration,
	users:   []user{{"states", "configuration_id", "states"}},
}

var states = shelf[receiver.State]{
	word: "state", table: "states",
	id:      func(v receiver.State) string { return v.ID },
	columns: []string{"set_id", "configuration_id", "since"},
	values:  func(v receiver.State) []any { return []any{v.SetID, v.ConfigurationID, stamp(v.From)} },
	order:   "since, place",
	check:   checkState,
	users:   []user{{"runs", "state_id", "runs"}},
}

// AddSet stores a new set. ErrExists if the id is taken.
func (b *Book) AddSet(ctx context.Context, v receiver.Set) error { return sets.add(ctx, b, v) }

// UpdateSet changes a set and keeps its old form.
func (b *Book) UpdateSet(ctx context.Context, v receiver.Set, reason string) error {
	return sets.update(ctx, b, v, reason)
}

// DeleteSet deletes a set without configurations, states and modifications,
// else ErrInUse.
func (b *Book) DeleteSet(ctx context.Context, id, reason string) error {
	return sets.remove(ctx, b, id, reason)
}

// Set returns a set, or ErrNotFound.
func (b *Book) Set(ctx context.Context, id string) (receiver.Set, error) { return sets.get(ctx, b, id) }

// Sets returns all sets in the order of entering.
func (b *Book) Sets(ctx context.Context) ([]receiver.Set, error) { return sets.list(ctx, b, "") }

// AddConfiguration stores a new configuration of a set in the book.
func (b *Book) AddConfiguration(ctx context.Context, v receiver.Configuration) error {
	return configurations.add(ctx, b, v)
}

// UpdateConfiguration changes a configuration and keeps its old form.
func (b *Book) UpdateConfiguration(ctx context.Context, v receiver.Configuration, reason string) error {
	return configurations.update(ctx, b, v, reason)
}

// DeleteConfiguration deletes a configuration without states, else ErrInUse.
func (b *Book) DeleteConfiguration(ctx context.Context, id, reason string) error {
	return configurations.remove(ctx, b, id, reason)
}

// Configuration returns a configuration, or ErrNotFound.
func (b *Book) Configuration(ctx context.Context, id string) (receiver.Configuration, error) {
	return configurations.get(ctx, b, id)
}

// Configurations returns those of a set in the order of entering.
func (b *Book) Configurations(ctx context.Context, setID string) ([]receiver.Configuration, error) {
	return configurations.list(ctx, b, "set_id = $1", setID)
}

// AddState stores a new state. Its configuration must be one of its set.
func (b *Book) AddState(ctx context.Context, v receiver.State) error { return states.add(ctx, b, v) }

// UpdateState changes a state and keeps its old form.
func (b *Book) UpdateState(ctx context.Context, v receiver.State, reason string) error {
	return states.update(ctx, b, v, reason)
}

// DeleteState deletes a state without runs, else ErrInUse.
func (b *Book) DeleteState(ctx context.Context, id, reason string) error {
	return states.remove(ctx, b, id, reason)
}

// State returns a state, or ErrNotFound.
func (b *Book) State(ctx context.Context, id string) (receiver.State, error) {
	return states.get(ctx, b, id)
}

// States returns those of a set by the date they began.
func (b *Book) States(ctx context.Context, setID string) ([]receiver.State, error) {
	return states.list(ctx, b, "set_id = $1", setID)
}

// checkConfiguration says whether the set and the modifications are there, and
// that states do not lose their set.
func checkConfiguration(ctx context.Context, q querier, name string, v receiver.Configuration) error {
	if err := refersTo(ctx, q, name, "set", "SELECT 1 FROM sets WHERE id = $1", v.SetID); err != nil {
		return err
	}
	for _, m := range v.Modifications {
		if err := refersTo(ctx, q, name, "modification", "SELECT 1 FROM modifications WHERE id = $1", m); err != nil {
			return err
		}
	}
	stray, err := exists(ctx, q, "SELECT 1 FROM states WHERE configuration_id = $1 AND set_id <> $2", v.ID, v.SetID)
	if err == nil && stray {
		err = fail(ErrInUse, "%s cannot move to set %q: it has states of another set", name, v.SetID)
	}
	return err
}

func checkState(ctx context.Context, q querier, name string, v receiver.State) error {
	if err := refersTo(ctx, q, name, "set", "SELECT 1 FROM sets WHERE id = $1", v.SetID); err != nil {
		return err
	}
	words := fmt.Sprintf("configuration (of set %q)", v.SetID)
	return refersTo(ctx, q, name, words, "SELECT 1 FROM configurations WHERE id = $1 AND set_id = $2", v.ConfigurationID, v.SetID)
}

// refersTo gives ErrNotFound where an entry refers to one that is missing;
// query finds it, its first argument being the id.
func refersTo(ctx context.Context, q querier, name, word, query string, args ...any) error {
	there, err := exists(ctx, q, query, args...)
	if err == nil && !there {
		err = fail(ErrNotFound, "%s refers to %s %q, which is not in this book", name, word, args[0])
	}
	return err
}
