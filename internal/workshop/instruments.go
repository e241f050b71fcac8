package workshop

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"setwright/internal/run"
)

// AddInstrument adds an instrument of the bench, or a new calibration epoch of
// one. Runs that name it share its error as a source of uncertainty.
func (s *Shop) AddInstrument(ctx context.Context, in run.Instrument) (run.Instrument, error) {
	name, err := named("an instrument", in.Name)
	if err != nil {
		return in, err
	}
	in.Name = name
	if in.ID == "" {
		in.ID = Handle(name)
	}
	if in.Reads == "" {
		in.Reads = "frequency"
	}
	if in.Relative < 0 || in.Absolute < 0 || in.Resolution < 0 {
		return in, fmt.Errorf("instrument %s: an uncertainty or resolution below zero", in.Name)
	}
	return in, s.Book.PutInstrument(ctx, in)
}

// ErrorUnit is the unit in which an error of readings in a unit is stated:
// that of a level is in dB, whatever the level refers to.
func ErrorUnit(unit string) string {
	if strings.HasPrefix(unit, "dB") {
		return "dB"
	}
	return unit
}

// BenchInstruments returns the instruments of the bench by their ids, in their
// latest calibration epoch.
func (s *Shop) BenchInstruments(ctx context.Context, ids []string) ([]run.Instrument, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	all, err := s.Book.Instruments(ctx)
	if err != nil {
		return nil, err
	}
	var out []run.Instrument
	var known []string
	for _, id := range ids {
		var found *run.Instrument
		for i := range all {
			if all[i].ID == id && (found == nil || all[i].Epoch > found.Epoch) {
				found = &all[i]
			}
		}
		if found == nil {
			for _, in := range all {
				known = append(known, in.ID)
			}
			return nil, fmt.Errorf("no instrument %q on the bench; there are: %s", id, cmp.Or(strings.Join(known, ", "), "none yet"))
		}
		out = append(out, *found)
	}
	return out, nil
}
