package workshop

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// Amend notes something about a run afterwards. The raw data stay as they are;
// figures are computed anew.
func (s *Shop) Amend(ctx context.Context, a run.Amendment) (run.Amendment, error) {
	r, err := s.Book.Run(ctx, a.RunID)
	if err != nil {
		return a, err
	}
	series, err := s.Book.Series(ctx, a.RunID)
	if err != nil {
		return a, err
	}
	if err := a.Check(series); err != nil {
		return a, err
	}
	if err := a.CheckRecording(r.Recordings); err != nil {
		return a, err
	}
	if a.Kind == run.AmendLabel {
		if err := s.checkLabel(r, a); err != nil {
			return a, err
		}
	}
	if a.Kind == run.AmendOption {
		if err := s.checkOption(r.Measurement, a.Role, a.Text); err != nil {
			return a, err
		}
	}
	earlier, err := s.Book.Amendments(ctx, a.RunID)
	if err != nil {
		return a, err
	}
	a.ID, a.Made = fmt.Sprintf("%s#%d", a.RunID, len(earlier)+1), s.Clock()
	return a, s.Book.AddAmendment(ctx, a)
}

// checkLabel refuses a label that recordings of that kind do not have.
func (s *Shop) checkLabel(r run.Run, a run.Amendment) error {
	m, err := s.Registry.Get(r.Measurement)
	if err != nil {
		return err
	}
	rec := r.Recordings[a.Row]
	spec, ok := m.About().RecordingOf(rec.Role)
	if !ok {
		return nil
	}
	return checkLabels(spec, rec.Name, map[string]string{a.Role: a.Text})
}

// checkOptions is checkOption of several, in the order of their names.
func (s *Shop) checkOptions(measurement string, options map[string]string) error {
	for _, name := range slices.Sorted(maps.Keys(options)) {
		if err := s.checkOption(measurement, name, options[name]); err != nil {
			return err
		}
	}
	return nil
}

// checkOption refuses an option the measurement does not have, or a word it
// does not take.
func (s *Shop) checkOption(measurement, name, text string) error {
	m, err := s.Registry.Get(measurement)
	if err != nil {
		return err
	}
	var names []string
	for _, o := range m.About().Options {
		names = append(names, o.Name)
		if o.Name != name {
			continue
		}
		return o.Check(text)
	}
	return &measure.OptionError{Name: name, Title: fmt.Sprintf("option %q", name), Text: fmt.Sprintf("%s has no such option; it has %s", measurement, strings.Join(names, ", "))}
}
