package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/store"
)

// deriveAcross adds to a run's figures those that follow from them and from
// figures of other runs of the same state: a noise figure from the sensitivity
// of one run and the noise bandwidth of another. The latest run counts whose
// conditions do not contradict. Runs that allow no figures are passed over.
func (s *Shop) deriveAcross(ctx context.Context, res *Result) error {
	lacking := s.lacking(res.Analysis.Figures)
	if len(lacking) == 0 {
		return nil
	}
	runs, err := s.Book.Runs(ctx, store.RunFilter{StateID: res.State.ID})
	if err != nil {
		return err
	}
	pool := slices.Clone(res.Analysis.Figures)
	var notes []string
	for _, r := range slices.Backward(runs) {
		if r.ID == res.Run.ID || r.Open || len(lacking) == 0 || !s.mayGive(r.Measurement, lacking) {
			continue
		}
		other, err := s.own(ctx, r.ID, nil, nil)
		if err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			continue // its own page says what is wrong with it
		}
		for _, f := range other.Analysis.Figures {
			if !slices.Contains(lacking, f.ID) || !agree(f, res.Analysis.Figures) {
				continue
			}
			lacking = slices.DeleteFunc(lacking, func(id string) bool { return id == f.ID })
			pool = append(pool, f)
			notes = append(notes, s.borrowed(f, r))
		}
	}
	return s.addDerived(res, pool, notes)
}

// addDerived derives from the pooled figures and adds what is new, with what
// was borrowed for it.
func (s *Shop) addDerived(res *Result, pool []run.Figure, notes []string) error {
	if len(notes) == 0 {
		return nil
	}
	derived, err := s.Registry.Derive(slices.Clone(pool))
	if err != nil {
		return err
	}
	if fresh := derived[len(pool):]; len(fresh) > 0 {
		res.Analysis.Figures = append(slices.Clone(res.Analysis.Figures), fresh...)
		res.About.Figures = s.withSpecs(res.About.Figures, fresh)
		res.Analysis.Notes = append(s.stillMissing(res.Analysis.Notes, fresh), notes...)
	}
	return nil
}

// stillMissing are the notes without those of figures that are there now.
func (s *Shop) stillMissing(notes []string, fresh []run.Figure) []string {
	return slices.DeleteFunc(slices.Clone(notes), func(note string) bool {
		return slices.ContainsFunc(fresh, func(f run.Figure) bool {
			spec, _, ok := s.Registry.Figure(f.ID)
			return ok && strings.HasPrefix(note, spec.Title+" is not given")
		})
	})
}

// withSpecs adds the specs of figures that are not among a measurement's own.
func (s *Shop) withSpecs(specs []measure.FigureSpec, figures []run.Figure) []measure.FigureSpec {
	out := slices.Clone(specs)
	for _, f := range figures {
		has := slices.ContainsFunc(out, func(spec measure.FigureSpec) bool { return spec.ID == f.ID })
		if spec, _, known := s.Registry.Figure(f.ID); known && !has {
			out = append(out, spec)
		}
	}
	return out
}

// lacking are the ids of figures that, with those given, would allow a
// derivation whose results are not there yet.
func (s *Shop) lacking(figures []run.Figure) []string {
	have := map[string]bool{}
	for _, f := range figures {
		have[f.ID] = true
	}
	var out []string
	for _, d := range s.Registry.Derivations() {
		given := slices.ContainsFunc(d.Gives, func(spec measure.FigureSpec) bool { return have[spec.ID] })
		some := slices.ContainsFunc(d.Takes, func(id string) bool { return have[id] })
		if given || !some {
			continue
		}
		for _, id := range d.Takes {
			if !have[id] && !slices.Contains(out, id) {
				out = append(out, id)
			}
		}
	}
	return out
}

// mayGive says whether a measurement can give any of the figures.
func (s *Shop) mayGive(measurement string, ids []string) bool {
	m, err := s.Registry.Get(measurement)
	return err == nil && slices.ContainsFunc(m.About().Figures, func(spec measure.FigureSpec) bool { return slices.Contains(ids, spec.ID) })
}

// sharedSettings are the conditions that must not contradict between runs for their
// figures to be put together: settings of the set.
var sharedSettings = []string{"filter", "band", "selectivity"}

// agree says whether a figure of another run was taken at the settings of this
// one, as far as both say.
func agree(f run.Figure, figures []run.Figure) bool {
	for _, name := range sharedSettings {
		theirs, ok := f.Conditions[name]
		if !ok {
			continue
		}
		for _, own := range figures {
			if ours, ok := own.Conditions[name]; ok && ours != theirs {
				return false
			}
		}
	}
	return true
}

// borrowed says which figure came from which run.
func (s *Shop) borrowed(f run.Figure, r run.Run) string {
	title := f.ID
	if spec, _, ok := s.Registry.Figure(f.ID); ok {
		title = spec.Title
	}
	return fmt.Sprintf("%s, %s, is taken from run %s of the same state", title, printer.Outcome(f.Outcome, f.Unit), r.ID)
}
