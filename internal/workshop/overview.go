package workshop

import (
	"context"
	"sort"
	"time"

	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/store"
)

// ShelfItem is one set as it stands on the shelf.
type ShelfItem struct {
	Set           receiver.Set
	State         receiver.State // the present one
	States        int
	Modifications int
	Runs          int
	Open          int       // runs still being taken
	Latest        time.Time // of the runs; zero without any
}

// SetView is a set with its states on a line of time.
type SetView struct {
	Set            receiver.Set
	Configurations []receiver.Configuration
	States         []StateView // in order of time
	Modifications  []ModificationView
	Instruments    []run.Instrument // of the bench
}

// StateView is a state with its runs.
type StateView struct {
	State         receiver.State
	Configuration receiver.Configuration
	Until         time.Time // start of the next state; zero for the present one
	Runs          []RunSummary
}

// RunSummary is a run in a list.
type RunSummary struct {
	Run        run.Run
	Readings   int
	Title      string
	Sentence   string // the first sentence of its result
	Refused    string // why there is none
	Amendments int
}

// ModificationView is a modification with the configurations that have it.
type ModificationView struct {
	Modification receiver.Modification
	In           []receiver.Configuration
	Pair         Pair // the configurations a claim is judged on
}

// Shelf lists the sets of the book.
func (s *Shop) Shelf(ctx context.Context) ([]ShelfItem, error) {
	targets, err := s.targets(ctx)
	if err != nil {
		return nil, err
	}
	var out []ShelfItem
	for _, t := range targets {
		if t.Kind != IsSet {
			continue
		}
		item, err := s.shelfItem(ctx, t)
		if err != nil {
			return nil, err
		}
		out = append(out, item)
	}
	return out, nil
}

func (s *Shop) shelfItem(ctx context.Context, t Target) (ShelfItem, error) {
	item := ShelfItem{Set: t.Set, States: len(t.States)}
	if n := len(t.States); n > 0 {
		item.State = t.States[n-1]
	}
	mods, err := s.Book.Modifications(ctx, t.Set.ID)
	if err != nil {
		return item, err
	}
	item.Modifications = len(mods)
	for _, st := range t.States {
		runs, err := s.runsOf(ctx, st.ID)
		if err != nil {
			return item, err
		}
		item.Runs += len(runs)
		for _, r := range runs {
			if r.Open {
				item.Open++
			}
			if r.Entered.After(item.Latest) {
				item.Latest = r.Entered
			}
		}
	}
	return item, nil
}

// SetView returns a set with its states, runs and modifications. With results
// each run's first sentence is computed too (or taken from the cache).
func (s *Shop) SetView(ctx context.Context, setID string, results bool) (SetView, error) {
	var v SetView
	var err error
	if v.Set, err = s.Book.Set(ctx, setID); err != nil {
		return v, err
	}
	if v.Configurations, err = s.Book.Configurations(ctx, setID); err != nil {
		return v, err
	}
	states, err := s.Book.States(ctx, setID)
	if err != nil {
		return v, err
	}
	sort.SliceStable(states, func(i, j int) bool { return states[i].From.Before(states[j].From) })
	for i, st := range states {
		view := StateView{State: st, Configuration: configurationOf(v.Configurations, st.ConfigurationID)}
		if i+1 < len(states) {
			view.Until = states[i+1].From
		}
		if view.Runs, err = s.summaries(ctx, st.ID, results); err != nil {
			return v, err
		}
		v.States = append(v.States, view)
	}
	if v.Instruments, err = s.Book.Instruments(ctx); err != nil {
		return v, err
	}
	mods, err := s.Book.Modifications(ctx, setID)
	if err != nil {
		return v, err
	}
	for _, m := range mods {
		v.Modifications = append(v.Modifications, ModificationView{
			Modification: m, In: having(v.Configurations, m.ID), Pair: pairOf(m, v.Configurations),
		})
	}
	return v, nil
}

// TimelineEnd is how far a line of time of the set's states is drawn: an eighth
// beyond the latest that happened, but not beyond now. A set that nobody has
// touched for years would else show its history as a dot.
func (v SetView) TimelineEnd(now time.Time) time.Time {
	var first, last time.Time
	see := func(t time.Time) {
		if t.IsZero() {
			return
		}
		if first.IsZero() || t.Before(first) {
			first = t
		}
		if t.After(last) {
			last = t
		}
	}
	for _, st := range v.States {
		see(st.State.From)
		for _, r := range st.Runs {
			see(r.Run.Started)
		}
	}
	end := last.Add(max(last.Sub(first)/8, 24*time.Hour))
	if last.IsZero() || end.After(now) {
		return now
	}
	return end
}

// summaries lists the runs of a state.
func (s *Shop) summaries(ctx context.Context, stateID string, results bool) ([]RunSummary, error) {
	runs, err := s.runsOf(ctx, stateID)
	if err != nil {
		return nil, err
	}
	var out []RunSummary
	for _, r := range runs {
		sum := RunSummary{Run: r, Title: s.runTitle(r)}
		if sum.Readings, err = s.Book.Readings(ctx, r.ID); err != nil {
			return nil, err
		}
		if results && !r.Open {
			sum.Sentence, sum.Refused, sum.Amendments = s.headline(ctx, r.ID)
		}
		out = append(out, sum)
	}
	return out, nil
}

// headline returns the first sentence of a run's result, or why there is none.
func (s *Shop) headline(ctx context.Context, runID string) (sentence, refused string, amendments int) {
	res, err := s.Result(ctx, runID, nil, nil)
	if err != nil {
		return "", err.Error(), len(res.Amendments)
	}
	if len(res.Analysis.Sentences) > 0 {
		sentence = res.Analysis.Sentences[0]
	}
	return sentence, "", len(res.Amendments)
}

// runTitle names a run in lists.
func (s *Shop) runTitle(r run.Run) string {
	if r.Title != "" {
		return r.Title
	}
	title := r.Measurement
	if m, err := s.Registry.Get(r.Measurement); err == nil {
		title = m.About().Title
	}
	if !r.Started.IsZero() {
		title += ", " + r.Started.Format("2 January 2006")
	}
	return title
}

// runsOf lists the runs of a state in order of time.
func (s *Shop) runsOf(ctx context.Context, stateID string) ([]run.Run, error) {
	runs, err := s.Book.Runs(ctx, store.RunFilter{StateID: stateID})
	if err != nil {
		return nil, err
	}
	sort.SliceStable(runs, func(i, j int) bool { return moment(runs[i]).Before(moment(runs[j])) })
	return runs, nil
}

// moment is when a run was made, as far as is known.
func moment(r run.Run) time.Time {
	if r.Started.IsZero() {
		return r.Entered
	}
	return r.Started
}

func configurationOf(configs []receiver.Configuration, id string) receiver.Configuration {
	for _, c := range configs {
		if c.ID == id {
			return c
		}
	}
	return receiver.Configuration{}
}

// having returns the configurations in which a modification is in.
func having(configs []receiver.Configuration, modification string) []receiver.Configuration {
	var out []receiver.Configuration
	for _, c := range configs {
		if has(c, modification) {
			out = append(out, c)
		}
	}
	return out
}

func has(c receiver.Configuration, modification string) bool {
	for _, id := range c.Modifications {
		if id == modification {
			return true
		}
	}
	return false
}
