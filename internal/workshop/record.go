package workshop

import (
	"context"
	"time"
)

// Record is everything that the printed record of a set shows: what it is, what
// was done to it, what it can do, and how far that is known.
type Record struct {
	View   SetView
	Made   time.Time
	States []RecordState
	Claims []ClaimReport
}

// RecordState is a state with the results of its runs.
type RecordState struct {
	StateView
	Results []Result
	Refused map[string]string // run id to why it gave no figures
}

// Record gathers the printed record of a set. progress may be nil.
func (s *Shop) Record(ctx context.Context, setID string, progress func(float64)) (Record, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	view, err := s.SetView(ctx, setID, false)
	if err != nil {
		return Record{}, err
	}
	rec := Record{View: view, Made: s.Clock()}
	for i, st := range view.States {
		rs := RecordState{StateView: st, Refused: map[string]string{}}
		for _, sum := range st.Runs {
			res, err := s.Result(ctx, sum.Run.ID, nil, nil)
			if ctx.Err() != nil {
				return rec, ctx.Err()
			}
			if err != nil {
				rs.Refused[sum.Run.ID] = err.Error()
				continue
			}
			rs.Results = append(rs.Results, res)
		}
		rec.States = append(rec.States, rs)
		progress(float64(i+1) / float64(len(view.States)+len(view.Modifications)))
	}
	for _, m := range view.Modifications {
		rep, err := s.JudgeModification(ctx, m.Modification.ID, CompareOptions{})
		if err != nil {
			return rec, err
		}
		rec.Claims = append(rec.Claims, rep)
	}
	return rec, nil
}
