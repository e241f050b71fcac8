package store

import (
	"context"

	"setwright/internal/run"
)

var amendments = shelf[run.Amendment]{
	word: "amendment", table: "amendments",
	id:      func(v run.Amendment) string { return v.ID },
	columns: []string{"run_id"},
	values:  func(v run.Amendment) []any { return []any{v.RunID} },
	check:   checkAmendment,
}

// AddAmendment stores an amendment of a run. It is never changed or deleted:
// another one undoes it. Made is filled in where it is zero.
func (b *Book) AddAmendment(ctx context.Context, a run.Amendment) error {
	if a.Made.IsZero() {
		a.Made = b.clock()
	}
	return amendments.add(ctx, b, a)
}

// Amendments returns those of a run in the order of entering, which is the
// order they apply in.
func (b *Book) Amendments(ctx context.Context, runID string) ([]run.Amendment, error) {
	return amendments.list(ctx, b, "run_id = $1", runID)
}

// checkAmendment checks it against the run's columns and number of readings.
func checkAmendment(ctx context.Context, q querier, _ string, a run.Amendment) error {
	t, err := loadTable(ctx, q, a.RunID)
	if err != nil {
		return err
	}
	if err := a.Check(t.shape()); err != nil {
		return failBy(err, ErrInvalid, "run %q", a.RunID)
	}
	return nil
}

// shape is a series with the columns and the length of the real one and no
// readings: what Check looks at.
func (t *table) shape() run.Series {
	var s run.Series
	values := make([]float64, t.rows)
	for _, h := range t.columns {
		s.Columns = append(s.Columns, run.Column{Role: h.Role, Unit: h.Unit, Values: values})
	}
	return s
}
