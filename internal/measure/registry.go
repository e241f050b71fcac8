package measure

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"setwright/internal/run"
)

// Registry lists measurements and derivations. It is built once at start by
// whoever wires the program; there is no global one.
type Registry struct {
	byID        map[string]Measurement
	usual       string
	derivations []Derivation
}

// Derivation computes derived figures from other figures, purely.
type Derivation struct {
	ID     string
	Takes  []string // figure ids
	Gives  []FigureSpec
	Derive func(figures []run.Figure) ([]run.Figure, error)
}

// NewRegistry returns a registry of the measurements. Two of one id, or a
// derivation whose inputs need its own outputs, are programming faults and
// give an error.
func NewRegistry(ms []Measurement, ds []Derivation) (*Registry, error) {
	r := &Registry{byID: make(map[string]Measurement)}
	for _, m := range ms {
		id := m.About().ID
		if _, dup := r.byID[id]; dup {
			return nil, fmt.Errorf("measure: two measurements of id %q", id)
		}
		r.byID[id] = m
		if r.usual == "" {
			r.usual = id
		}
	}
	ordered, err := order(ds)
	if err != nil {
		return nil, err
	}
	r.derivations = ordered
	return r, nil
}

// IDs returns the measurement ids, sorted.
func (r *Registry) IDs() []string {
	ids := make([]string, 0, len(r.byID))
	for id := range r.byID {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	return ids
}

// Usual returns the id of the measurement that is meant where nothing is said:
// the first that the registry was made of.
func (r *Registry) Usual() string { return r.usual }

// Get returns a measurement, or an error that lists those there are.
func (r *Registry) Get(id string) (Measurement, error) {
	m, ok := r.byID[id]
	if !ok {
		return nil, fmt.Errorf("no measurement %q; there are: %s", id, strings.Join(r.IDs(), ", "))
	}
	return m, nil
}

// Figure returns the spec of a figure id and the measurement that gives it
// ("" for a derived figure).
func (r *Registry) Figure(id string) (FigureSpec, string, bool) {
	for _, mid := range r.IDs() {
		for _, f := range r.byID[mid].About().Figures {
			if f.ID == id {
				return f, mid, true
			}
		}
	}
	for _, d := range r.derivations {
		for _, f := range d.Gives {
			if f.ID == id {
				return f, "", true
			}
		}
	}
	return FigureSpec{}, "", false
}

// Readable returns the columns that an instrument can read, one of each role.
func (r *Registry) Readable() []ColumnSpec {
	var out []ColumnSpec
	for _, id := range r.IDs() {
		for _, c := range r.byID[id].About().Columns {
			if c.Role != "time" && !slices.ContainsFunc(out, func(o ColumnSpec) bool { return o.Role == c.Role }) {
				out = append(out, c)
			}
		}
	}
	return out
}

// Derivations returns them in an order in which each comes after those whose
// figures it takes.
func (r *Registry) Derivations() []Derivation { return r.derivations }

// Derive adds to figures all derived figures whose inputs are there.
func (r *Registry) Derive(figures []run.Figure) ([]run.Figure, error) {
	have := make(map[string]bool)
	for _, f := range figures {
		have[f.ID] = true
	}
	for _, d := range r.derivations {
		if !all(have, d.Takes) {
			continue
		}
		more, err := d.Derive(figures)
		if err != nil {
			return nil, fmt.Errorf("derivation %s: %w", d.ID, err)
		}
		for _, f := range more {
			have[f.ID] = true
		}
		figures = append(figures, more...)
	}
	return figures, nil
}

func all(have map[string]bool, ids []string) bool {
	for _, id := range ids {
		if !have[id] {
			return false
		}
	}
	return true
}

// order sorts derivations so that each comes after those whose figures it
// takes, and refuses cycles.
func order(ds []Derivation) ([]Derivation, error) {
	giver := make(map[string]int)
	for i, d := range ds {
		for _, g := range d.Gives {
			giver[g.ID] = i
		}
	}
	const (
		fresh = iota
		open
		done
	)
	mark := make([]int, len(ds))
	var out []Derivation
	var visit func(i int) error
	visit = func(i int) error {
		switch mark[i] {
		case open:
			return fmt.Errorf("measure: derivation %q needs its own result", ds[i].ID)
		case done:
			return nil
		}
		mark[i] = open
		for _, t := range ds[i].Takes {
			if j, ok := giver[t]; ok {
				if err := visit(j); err != nil {
					return err
				}
			}
		}
		mark[i] = done
		out = append(out, ds[i])
		return nil
	}
	for i := range ds {
		if err := visit(i); err != nil {
			return nil, err
		}
	}
	return out, nil
}
