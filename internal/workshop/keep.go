package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"setwright/internal/receiver"
)

// AddSet takes in a set. Its handle is made from the name where none is given.
// Its first configuration ("as found") and state are made with it, so that
// runs can be entered at once; found is when it came in, zero for now.
func (s *Shop) AddSet(ctx context.Context, set receiver.Set, found time.Time) (receiver.Set, error) {
	name, err := named("a set", set.Name)
	if err != nil {
		return receiver.Set{}, err
	}
	set.Name = name
	if set.ID == "" {
		set.ID = Handle(name)
	}
	if set.ID != Handle(set.ID) {
		return receiver.Set{}, fmt.Errorf("handle %q of the set: expected lower-case letters, digits and hyphens, such as %q", set.ID, Handle(set.ID))
	}
	err = s.atOnce(ctx, "taking in a set", func(ctx context.Context) error {
		if err := s.Book.AddSet(ctx, set); err != nil {
			return err
		}
		_, err := s.Configure(ctx, receiver.Configuration{SetID: set.ID, Name: "as found"}, receiver.State{Name: "as found", From: found})
		return err
	})
	if err != nil {
		return receiver.Set{}, err
	}
	return set, nil
}

// Configure adds a way in which a set is built, and with it the first state of
// that: both, or neither.
func (s *Shop) Configure(ctx context.Context, c receiver.Configuration, st receiver.State) (receiver.State, error) {
	err := s.atOnce(ctx, "adding a configuration", func(ctx context.Context) error {
		made, err := s.AddConfiguration(ctx, c)
		if err != nil {
			return err
		}
		st.ConfigurationID = made.ID
		st, err = s.AddState(ctx, st)
		return err
	})
	return st, err
}

// AddConfiguration adds a way in which a set is built. The modifications named
// must be known for that set.
func (s *Shop) AddConfiguration(ctx context.Context, c receiver.Configuration) (receiver.Configuration, error) {
	name, err := named("a configuration", c.Name)
	if err != nil {
		return c, err
	}
	c.Name = name
	if _, err := s.Book.Set(ctx, c.SetID); err != nil {
		return c, err
	}
	mods, err := s.Book.Modifications(ctx, c.SetID)
	if err != nil {
		return c, err
	}
	for _, id := range c.Modifications {
		if findModification(mods, id) == nil {
			return c, fmt.Errorf("configuration %q names modification %q, which the set does not have; it has: %s", c.Name, id, listModifications(mods))
		}
	}
	configs, err := s.Book.Configurations(ctx, c.SetID)
	if err != nil {
		return c, err
	}
	for _, old := range configs {
		if strings.EqualFold(old.Name, c.Name) {
			return c, fmt.Errorf("the set already has a configuration %q (%s): when a set comes back to it, add a state to it instead", old.Name, old.ID)
		}
	}
	c.ID = freeHandle(c.SetID+"/"+Handle(name), func(h string) bool {
		for _, old := range configs {
			if old.ID == h {
				return true
			}
		}
		return false
	})
	return c, s.Book.AddConfiguration(ctx, c)
}

// AddState starts a new state: a configuration from a date on. Without a date
// it starts now.
func (s *Shop) AddState(ctx context.Context, st receiver.State) (receiver.State, error) {
	config, err := s.Book.Configuration(ctx, st.ConfigurationID)
	if err != nil {
		return st, err
	}
	st.SetID = config.SetID
	if strings.TrimSpace(st.Name) == "" {
		st.Name = config.Name
	}
	if st.From.IsZero() {
		st.From = s.Clock()
	}
	states, err := s.Book.States(ctx, st.SetID)
	if err != nil {
		return st, err
	}
	taken := func(h string) bool {
		for _, old := range states {
			if old.ID == h {
				return true
			}
		}
		return false
	}
	st.ID = freeHandle(config.ID+"@"+st.From.Format("2006-01-02"), taken)
	return st, s.Book.AddState(ctx, st)
}

// AddModification adds a change to the original circuit, with what it is said
// to do.
func (s *Shop) AddModification(ctx context.Context, m receiver.Modification) (receiver.Modification, error) {
	title, err := named("a modification", m.Title)
	if err != nil {
		return m, err
	}
	m.Title = title
	if _, err := s.Book.Set(ctx, m.SetID); err != nil {
		return m, err
	}
	mods, err := s.Book.Modifications(ctx, m.SetID)
	if err != nil {
		return m, err
	}
	m.ID = freeHandle(m.SetID+"/"+Handle(title), func(h string) bool { return findModification(mods, h) != nil })
	for i := range m.Claims {
		if err := s.checkClaim(&m.Claims[i], m.ID, i+1); err != nil {
			return m, err
		}
	}
	return m, s.Book.AddModification(ctx, m)
}

// AddClaim adds one more claim to a modification.
func (s *Shop) AddClaim(ctx context.Context, modification string, c receiver.Claim) (receiver.Claim, error) {
	m, err := s.FindModification(ctx, modification)
	if err != nil {
		return c, err
	}
	n, err := s.freeClaim(ctx, m)
	if err != nil {
		return c, err
	}
	if err := s.checkClaim(&c, m.ID, n); err != nil {
		return c, err
	}
	m.Claims = append(m.Claims, c)
	return c, s.Book.UpdateModification(ctx, m, "claim added: "+c.Words)
}

// freeClaim is the number of a new claim of a modification: one that no claim
// has, and none had that a plan was made for and that was taken out since.
func (s *Shop) freeClaim(ctx context.Context, m receiver.Modification) (int, error) {
	plans, err := s.Book.Plans(ctx)
	if err != nil {
		return 0, err
	}
	taken := func(id string) bool {
		return plans[id] != nil || slices.ContainsFunc(m.Claims, func(c receiver.Claim) bool { return c.ID == id })
	}
	n := len(m.Claims) + 1
	for taken(claimID(m.ID, n)) {
		n++
	}
	return n, nil
}

func claimID(modification string, n int) string { return fmt.Sprintf("%s#%d", modification, n) }

// checkClaim completes a claim, the n-th from 1, and says what is wrong with it,
// if anything.
func (s *Shop) checkClaim(c *receiver.Claim, modification string, n int) error {
	spec, _, ok := s.Registry.Figure(c.Figure)
	if !ok {
		return fmt.Errorf("claim on figure %q: there is no such figure; there are: %s", c.Figure, strings.Join(s.judgedFigures(), ", "))
	}
	switch c.Direction {
	case receiver.Smaller, receiver.Larger, receiver.Unchanged:
	default:
		return fmt.Errorf("claim on %s: direction %q, expected smaller, larger or unchanged", spec.Title, c.Direction)
	}
	if c.Amount < 0 || (c.Relative && c.Direction == receiver.Smaller && c.Amount >= 1) {
		return fmt.Errorf("claim on %s: amount %g, expected a positive amount%s", spec.Title, c.Amount, map[bool]string{true: ", less than all of it"}[c.Relative])
	}
	for _, by := range spec.By {
		if c.Conditions[by] == "" {
			return fmt.Errorf("claim on %s: say which one, for example %s", spec.Title, exampleCondition(by))
		}
	}
	c.ModificationID = modification
	c.ID = claimID(modification, n)
	if c.Words == "" {
		c.Words = ClaimWords(*c, spec)
	}
	return nil
}

// FindModification resolves a modification by id, by the end of its id, or by
// title.
func (s *Shop) FindModification(ctx context.Context, selector string) (receiver.Modification, error) {
	sets, err := s.Book.Sets(ctx)
	if err != nil {
		return receiver.Modification{}, err
	}
	var all, found []receiver.Modification
	for _, set := range sets {
		mods, err := s.Book.Modifications(ctx, set.ID)
		if err != nil {
			return receiver.Modification{}, err
		}
		all = append(all, mods...)
	}
	for _, m := range all {
		if m.ID == selector || strings.HasSuffix(m.ID, "/"+Handle(selector)) {
			found = append(found, m)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return receiver.Modification{}, fmt.Errorf("no modification is called %q; there are: %s", selector, listModifications(all))
	}
	return receiver.Modification{}, fmt.Errorf("%q could be any of %s: name one in full", selector, listModifications(found))
}

func findModification(mods []receiver.Modification, id string) *receiver.Modification {
	for i := range mods {
		if mods[i].ID == id {
			return &mods[i]
		}
	}
	return nil
}

func listModifications(mods []receiver.Modification) string {
	if len(mods) == 0 {
		return "none yet"
	}
	var ids []string
	for _, m := range mods {
		ids = append(ids, m.ID)
	}
	return strings.Join(ids, ", ")
}

// MarkFound notes that a modification is in a configuration: earlier owners'
// work often comes to light after the set was taken in. The earlier entry can
// be put back.
func (s *Shop) MarkFound(ctx context.Context, modification, configuration string) (receiver.Configuration, error) {
	m, err := s.FindModification(ctx, modification)
	if err != nil {
		return receiver.Configuration{}, err
	}
	c, err := s.Book.Configuration(ctx, configuration)
	if err != nil {
		return c, err
	}
	if c.SetID != m.SetID {
		return c, fmt.Errorf("modification %s belongs to %s, configuration %s to %s", m.ID, m.SetID, c.ID, c.SetID)
	}
	if has(c, m.ID) {
		return c, nil
	}
	c.Modifications = append(c.Modifications, m.ID)
	return c, s.Book.UpdateConfiguration(ctx, c, "found in it: "+m.Title)
}
