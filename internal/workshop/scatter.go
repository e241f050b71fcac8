package workshop

import (
	"context"
	"fmt"

	"setwright/internal/measure"
	"setwright/judge"
	"setwright/quantity"
)

// knownScatter pools the run-to-run scatter that the book knows of a set for
// one figure, from repeats in states other than those compared. nil where it
// knows none.
func (s *Shop) knownScatter(ctx context.Context, g Group, c Comparison, row ComparedFigure) *judge.Spread {
	compared := map[string]bool{}
	for _, side := range []Group{c.A, c.B} {
		for _, r := range side.Results {
			compared[r.State.ID] = true
		}
	}
	groups := s.repeats(ctx, g.Set.ID, compared, c.About.ID, c.Applied, row)
	sd, dof := judge.PoolScatter(groups)
	if dof == 0 {
		return nil
	}
	return &judge.Spread{SD: sd, DoF: dof, Apart: true, Of: fmt.Sprintf("repeats of %s in other states", g.Set.Name)}
}

// repeats returns, for each state of a set that is not left out, the values of
// one figure in its runs, evaluated under the same options.
func (s *Shop) repeats(ctx context.Context, setID string, leaveOut map[string]bool, measurement string, applied map[string]string, row ComparedFigure) [][]quantity.Value {
	states, err := s.Book.States(ctx, setID)
	if err != nil {
		return nil
	}
	m, err := s.Registry.Get(measurement)
	if err != nil {
		return nil
	}
	aligner, _ := m.(measure.Aligner)
	var groups [][]quantity.Value
	for _, st := range states {
		if leaveOut[st.ID] {
			continue
		}
		if values := s.stateValues(ctx, st.ID, measurement, applied, aligner, row); len(values) >= 2 {
			groups = append(groups, values)
		}
	}
	return groups
}

// stateValues returns the values of one figure in the finished runs of a state.
func (s *Shop) stateValues(ctx context.Context, stateID, measurement string, applied map[string]string, aligner measure.Aligner, row ComparedFigure) []quantity.Value {
	runs, err := s.runsOf(ctx, stateID)
	if err != nil {
		return nil
	}
	var values []quantity.Value
	for _, r := range ofMeasurement(runs, measurement) {
		if r.Open {
			continue
		}
		res, err := s.Result(ctx, r.ID, applied, nil)
		if err != nil || (aligner != nil && !aligner.Fits(res.Raw, applied)) {
			continue
		}
		for _, f := range res.Analysis.Figures {
			if f.ID == row.Spec.ID && f.Key(row.Spec.By...) == row.Key && f.Kind == quantity.KindValue {
				v := f.Value
				if row.Spec.Magnitude {
					v = v.Abs()
				}
				values = append(values, v)
			}
		}
	}
	return values
}
