package workshop

import (
	"context"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
)

// count fills in which runs of the plan have been made: the finished runs of
// the set that could take part in the comparison, each under the name that the
// plan has for its configuration.
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
	names, err := s.plannedNames(ctx, *rep)
	if err != nil {
		return err
	}
	unfit := unfitRuns(m.About(), runs, raws)
	rep.Made = nil
	for _, r := range runs {
		if !unfit[r.ID] {
			rep.Made = append(rep.Made, names[configurationIDOf(target.States, r.StateID)])
		}
	}
	rep.Progress = rep.Plan.Progress(rep.Made, perDay)
	return nil
}

// plannedNames gives each configuration of the set the name it has in the
// plan. A plan made before anyone soldered named the side with the modification
// by a proposal; the configuration that came to be is that side.
func (s *Shop) plannedNames(ctx context.Context, rep PlanReport) (map[string]string, error) {
	configs, err := s.Book.Configurations(ctx, rep.Modification.SetID)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, c := range configs {
		names[c.ID] = c.Name
	}
	if pair := pairOf(rep.Modification, configs); pair.Found {
		names[pair.Before.ID], names[pair.After.ID] = rep.Plan.NameA, rep.Plan.NameB
	}
	return names, nil
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
