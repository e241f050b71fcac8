package workshop

import (
	"context"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
)

// count fills in which runs of the plan have been made: the finished runs of
// the set that could take part in the comparison, each under the name of its
// configuration.
func (s *Shop) count(ctx context.Context, rep *PlanReport, perDay int) error {
	target, err := s.Find(ctx, rep.Modification.SetID)
	if err != nil {
		return err
	}
	_, measurement, _ := s.Registry.Figure(rep.Claim.Figure)
	m, err := s.Registry.Get(measurement)
	if err != nil {
		return err
	}
	all, err := s.targetRuns(ctx, target)
	if err != nil {
		return err
	}
	runs := ofMeasurement(all, measurement)
	raws, err := s.raws(ctx, runs)
	if err != nil {
		return err
	}
	configs, err := s.Book.Configurations(ctx, rep.Modification.SetID)
	if err != nil {
		return err
	}
	unfit := unfitRuns(m.About(), runs, raws)
	rep.Made = nil
	for _, r := range runs {
		if !unfit[r.ID] {
			rep.Made = append(rep.Made, configurationOf(configs, configurationIDOf(target.States, r.StateID)).Name)
		}
	}
	rep.Progress = rep.Plan.Progress(rep.Made, perDay)
	return nil
}

// unfitRuns are the runs that a comparison would leave out.
func unfitRuns(about measure.About, runs []run.Run, raws []measure.Raw) map[string]bool {
	out := map[string]bool{}
	unfit, _ := measure.FitRuns(about, raws, raws)
	for _, u := range unfit {
		out[runs[u.Index].ID] = true
	}
	return out
}

func configurationIDOf(states []receiver.State, id string) string {
	for _, st := range states {
		if st.ID == id {
			return st.ConfigurationID
		}
	}
	return ""
}
