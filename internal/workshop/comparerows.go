package workshop

import (
	"setwright/internal/run"
	"setwright/judge"
	"slices"
)

// figureRows gathers the figures of both sides by key, in the order of the
// measurement's list.
func figureRows(c Comparison, only []string) []ComparedFigure {
	var out []ComparedFigure
	for _, spec := range c.About.Figures {
		if len(only) > 0 && !slices.Contains(only, spec.ID) {
			continue
		}
		rows := map[string]*ComparedFigure{}
		var keys []string
		collect := func(g Group, put func(*ComparedFigure, run.Figure)) {
			for _, r := range g.Results {
				for _, f := range r.Analysis.Figures {
					if f.ID != spec.ID {
						continue
					}
					key := f.Key(spec.By...)
					if rows[key] == nil {
						rows[key] = &ComparedFigure{Spec: spec, Key: key, Conditions: pick(f.Conditions, spec.By)}
						keys = append(keys, key)
					}
					put(rows[key], f)
				}
			}
		}
		collect(c.A, func(row *ComparedFigure, f run.Figure) { row.A = append(row.A, f) })
		collect(c.B, func(row *ComparedFigure, f run.Figure) { row.B = append(row.B, f) })
		for _, key := range keys {
			out = append(out, *rows[key])
		}
	}
	return out
}

// sideOf returns one side's observations of a figure.
func sideOf(g Group, row ComparedFigure) judge.Side {
	side := judge.Side{Name: g.Name}
	for _, r := range g.Results {
		for _, f := range r.Analysis.Figures {
			if f.ID != row.Spec.ID || f.Key(row.Spec.By...) != row.Key {
				continue
			}
			o := f.Outcome
			if row.Spec.Magnitude {
				o = o.Abs()
			}
			side.Observations = append(side.Observations, judge.Observation{
				Run: r.Run.ID, Label: runLabel(r.Run), Outcome: o, Day: r.Run.Setup.Day,
			})
		}
	}
	return side
}

// runLabel names a run within a side.
func runLabel(r run.Run) string {
	if r.Title != "" {
		return r.Title
	}
	if !r.Started.IsZero() {
		return r.Started.Format("2 Jan 2006")
	}
	return r.ID
}

func pick(m map[string]string, keys []string) map[string]string {
	out := map[string]string{}
	for _, k := range keys {
		if v, ok := m[k]; ok {
			out[k] = v
		}
	}
	return out
}
