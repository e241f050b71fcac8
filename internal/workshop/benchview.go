package workshop

import (
	"context"
	"errors"
	"time"

	"setwright/internal/measure"
)

// BenchView is a run that is being typed, as its page shows it: the readings,
// what they make so far, and what to do next.
type BenchView struct {
	Result
	Unit     string // of bare numbers in the first column
	Columns  []measure.ColumnSpec
	Typed    []Typed
	Step     measure.Step
	Due      time.Time // when the step is due; zero for now
	TooEarly string    // why there are no figures yet
}

// Bench returns a typed run as it stands. All of it comes from the book, so it
// is the same after the program was started anew.
func (s *Shop) Bench(ctx context.Context, runID string) (BenchView, error) {
	var v BenchView
	var err error
	v.Result, err = s.Result(ctx, runID, nil, nil)
	var refusal *measure.Refusal
	switch {
	case errors.As(err, &refusal):
		v.TooEarly = refusal.Error()
	case err != nil:
		return v, err
	}
	if v.Typed, err = s.TypedReadings(ctx, runID); err != nil {
		return v, err
	}
	m, err := s.Registry.Get(v.Run.Measurement)
	if err != nil {
		return v, err
	}
	if columns, layout, err := typedIn(v.Run, m.About()); err == nil {
		v.Unit, v.Columns = layout.Unit, columns
	}
	v.Step = m.Next(v.Raw)
	if v.Step.WaitS > 0 {
		v.Due = v.dueAfterLast()
	}
	return v, nil
}

// dueAfterLast is the moment of the next step, counted from the last reading
// that stands.
func (v BenchView) dueAfterLast() time.Time {
	last := 0.0
	for _, t := range v.Typed {
		if !t.Struck {
			last = t.TimeS
		}
	}
	return v.Run.Started.Add(time.Duration((last + v.Step.WaitS) * float64(time.Second)))
}
