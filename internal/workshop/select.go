package workshop

import (
	"context"
	"fmt"
	"sort"
	"strings"

	"setwright/internal/receiver"
)

// The kinds of thing a selector can name.
const (
	IsSet           = "set"
	IsConfiguration = "configuration"
	IsState         = "state"
	IsRun           = "run"
)

// Target is what a selector names: a set, a configuration with all its states,
// or one state.
type Target struct {
	Kind   string
	ID     string
	Name   string
	Set    receiver.Set
	States []receiver.State // the states that belong to it, in order of time
}

// Find resolves what a user typed to a set, configuration or state. It takes
// the handle ("turnstone", "turnstone/regulator-in"), or any unambiguous end of
// it or of the name ("regulator in"). An error lists what there is.
func (s *Shop) Find(ctx context.Context, selector string) (Target, error) {
	all, err := s.targets(ctx)
	if err != nil {
		return Target{}, err
	}
	want := strings.ToLower(strings.TrimSpace(selector))
	for _, match := range []func(Target) bool{
		func(t Target) bool { return t.ID == want },
		func(t Target) bool { return strings.ToLower(t.Name) == want },
		func(t Target) bool { return strings.HasSuffix(t.ID, "/"+Handle(want)) },
	} {
		found := pickTargets(all, match)
		if len(found) == 1 {
			return found[0], nil
		}
		if len(found) > 1 && !sameStates(found) {
			return Target{}, fmt.Errorf("%q could be any of %s: name one in full", selector, listTargets(found))
		}
		if len(found) > 1 {
			return found[0], nil
		}
	}
	return Target{}, fmt.Errorf("nothing in the book is called %q; there are %s", selector, listTargets(all))
}

// targets lists everything a selector can name.
func (s *Shop) targets(ctx context.Context) ([]Target, error) {
	sets, err := s.Book.Sets(ctx)
	if err != nil {
		return nil, err
	}
	var out []Target
	for _, set := range sets {
		states, err := s.Book.States(ctx, set.ID)
		if err != nil {
			return nil, err
		}
		sort.SliceStable(states, func(i, j int) bool { return states[i].From.Before(states[j].From) })
		out = append(out, Target{Kind: IsSet, ID: set.ID, Name: set.Name, Set: set, States: states})
		configs, err := s.Book.Configurations(ctx, set.ID)
		if err != nil {
			return nil, err
		}
		for _, c := range configs {
			out = append(out, Target{Kind: IsConfiguration, ID: c.ID, Name: set.Name + ", " + c.Name, Set: set, States: statesOf(states, c.ID)})
		}
		for _, st := range states {
			out = append(out, Target{Kind: IsState, ID: st.ID, Name: set.Name + ", " + st.Name, Set: set, States: []receiver.State{st}})
		}
	}
	return out, nil
}

func statesOf(states []receiver.State, configuration string) []receiver.State {
	var out []receiver.State
	for _, st := range states {
		if st.ConfigurationID == configuration {
			out = append(out, st)
		}
	}
	return out
}

func pickTargets(all []Target, match func(Target) bool) []Target {
	var out []Target
	for _, t := range all {
		if match(t) {
			out = append(out, t)
		}
	}
	return out
}

// sameStates says whether all targets come down to the same states, so that it
// does not matter which one was meant.
func sameStates(ts []Target) bool {
	for _, t := range ts[1:] {
		if len(t.States) != len(ts[0].States) {
			return false
		}
		for i := range t.States {
			if t.States[i].ID != ts[0].States[i].ID {
				return false
			}
		}
	}
	return true
}

func listTargets(ts []Target) string {
	if len(ts) == 0 {
		return "no sets yet"
	}
	var names []string
	for _, t := range ts {
		names = append(names, t.ID)
	}
	if len(names) > 12 {
		names = append(names[:12], fmt.Sprintf("and %d more", len(names)-12))
	}
	return strings.Join(names, ", ")
}
