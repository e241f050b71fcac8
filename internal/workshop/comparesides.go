package workshop

import (
	"context"
	"fmt"
	"slices"
	"sort"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// targetRuns lists the finished runs of a target in order of time.
func (s *Shop) targetRuns(ctx context.Context, t Target) ([]run.Run, error) {
	var out []run.Run
	for _, st := range t.States {
		runs, err := s.runsOf(ctx, st.ID)
		if err != nil {
			return nil, err
		}
		for _, r := range runs {
			if !r.Open {
				out = append(out, r)
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return moment(out[i]).Before(moment(out[j])) })
	return out, nil
}

// commonMeasurement is the measurement that both sides have runs of.
func commonMeasurement(wanted string, a, b Target, runsA, runsB []run.Run) (string, error) {
	for _, side := range []struct {
		t    Target
		runs []run.Run
	}{{a, runsA}, {b, runsB}} {
		if len(side.runs) == 0 {
			return "", fmt.Errorf("%s has no finished runs yet, so there is nothing to compare; import a log or type readings first", side.t.Name)
		}
	}
	if wanted != "" {
		return wanted, checkRuns(wanted, a, b, runsA, runsB)
	}
	for _, ra := range runsA {
		for _, rb := range runsB {
			if ra.Measurement == rb.Measurement {
				return ra.Measurement, nil
			}
		}
	}
	return "", fmt.Errorf("%s and %s have no measurement in common", a.Name, b.Name)
}

// checkRuns refuses a measurement that one side has no runs of.
func checkRuns(wanted string, a, b Target, runsA, runsB []run.Run) error {
	for _, side := range []struct {
		t    Target
		runs []run.Run
	}{{a, runsA}, {b, runsB}} {
		if len(ofMeasurement(side.runs, wanted)) > 0 {
			continue
		}
		var kinds []string
		for _, r := range side.runs {
			if !slices.Contains(kinds, r.Measurement) {
				kinds = append(kinds, r.Measurement)
			}
		}
		return fmt.Errorf("%s has no runs of the measurement %q; it has some of %s", side.t.Name, wanted, strings.Join(kinds, ", "))
	}
	return nil
}

// otherMeasurements are those that both sides have runs of beside the one that
// is compared.
func (s *Shop) otherMeasurements(compared string, runsA, runsB []run.Run) ([]measure.About, error) {
	var out []measure.About
	for _, id := range s.Registry.IDs() {
		if id == compared || len(ofMeasurement(runsA, id)) == 0 || len(ofMeasurement(runsB, id)) == 0 {
			continue
		}
		m, err := s.Registry.Get(id)
		if err != nil {
			return nil, err
		}
		out = append(out, m.About())
	}
	return out, nil
}

func groupOf(t Target) Group {
	return Group{Selector: t.ID, Kind: t.Kind, Name: t.Name, Set: t.Set}
}

func ofMeasurement(runs []run.Run, id string) []run.Run {
	var out []run.Run
	for _, r := range runs {
		if r.Measurement == id {
			out = append(out, r)
		}
	}
	return out
}

// sameFile lists the runs whose log is that of an earlier one, byte for byte: a
// log imported twice is no repeat.
func sameFile(runs []run.Run) []measure.Unfit {
	first := map[string]string{}
	var out []measure.Unfit
	for i, r := range runs {
		sum := r.Origin.SHA256
		if sum == "" {
			continue
		}
		if earlier, ok := first[sum]; ok {
			out = append(out, measure.Unfit{Index: i, Why: "its file is that of run " + earlier + ", byte for byte, and a log imported twice is no repeat"})
			continue
		}
		first[sum] = r.ID
	}
	return out
}

// leaveOut takes the unfit runs out and names them.
func (s *Shop) leaveOut(c *Comparison, unfit []measure.Unfit, runs []run.Run, raws []measure.Raw) ([]run.Run, []measure.Raw) {
	var keptRuns []run.Run
	var keptRaws []measure.Raw
	for i := range runs {
		if len(unfit) > 0 && unfit[0].Index == i {
			c.Notes = append(c.Notes, fmt.Sprintf("%s takes no part: %s", s.runTitle(runs[i]), unfit[0].Why))
			unfit = unfit[1:]
			continue
		}
		keptRuns, keptRaws = append(keptRuns, runs[i]), append(keptRaws, raws[i])
	}
	return keptRuns, keptRaws
}

// raws loads the raw data of runs as analyses see them.
func (s *Shop) raws(ctx context.Context, runs []run.Run) ([]measure.Raw, error) {
	var out []measure.Raw
	for _, r := range runs {
		res, _, err := s.load(ctx, r.ID)
		if err != nil {
			return nil, err
		}
		out = append(out, res.Raw)
	}
	return out, nil
}
