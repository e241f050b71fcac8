package workshop

import (
	"context"
	"fmt"

	"setwright/internal/receiver"
	"setwright/internal/run"
)

// EditSet puts the description of a set right. Its handle stays.
func (s *Shop) EditSet(ctx context.Context, set receiver.Set, reason string) error {
	name, err := named("a set", set.Name)
	if err != nil {
		return err
	}
	set.Name = name
	return s.Book.UpdateSet(ctx, set, reason)
}

// EditConfiguration puts the name or the parts of a configuration right. Which
// modifications are in stays: with others in it is another configuration.
func (s *Shop) EditConfiguration(ctx context.Context, id, name, parts, reason string) error {
	c, err := s.Book.Configuration(ctx, id)
	if err != nil {
		return err
	}
	if c.Name, err = named("a configuration", name); err != nil {
		return err
	}
	c.Parts = parts
	return s.Book.UpdateConfiguration(ctx, c, reason)
}

// EditState puts the name, beginning, alignment or notes of a state right. Its
// configuration stays: with another it is another state.
func (s *Shop) EditState(ctx context.Context, st receiver.State, reason string) error {
	old, err := s.Book.State(ctx, st.ID)
	if err != nil {
		return err
	}
	if st.Name, err = named("a state", st.Name); err != nil {
		return err
	}
	st.SetID, st.ConfigurationID = old.SetID, old.ConfigurationID
	if st.From.IsZero() {
		st.From = old.From
	}
	return s.Book.UpdateState(ctx, st, reason)
}

// EditModification puts the description of a modification right. Its claims
// stay.
func (s *Shop) EditModification(ctx context.Context, m receiver.Modification, reason string) error {
	old, err := s.Book.Modification(ctx, m.ID)
	if err != nil {
		return err
	}
	if m.Title, err = named("a modification", m.Title); err != nil {
		return err
	}
	m.SetID, m.Claims = old.SetID, old.Claims
	return s.Book.UpdateModification(ctx, m, reason)
}

// DropClaim takes a claim out of a modification; the change can be put back.
func (s *Shop) DropClaim(ctx context.Context, claim, reason string) error {
	c, m, err := s.Book.Claim(ctx, claim)
	if err != nil {
		return err
	}
	var kept []receiver.Claim
	for _, other := range m.Claims {
		if other.ID != c.ID {
			kept = append(kept, other)
		}
	}
	m.Claims = kept
	if reason == "" {
		reason = fmt.Sprintf("claim taken out: %s", c.Words)
	}
	return s.Book.UpdateModification(ctx, m, reason)
}

// EditRun puts the title and the notes of a finished run right; its readings
// and options stay (see Amend).
func (s *Shop) EditRun(ctx context.Context, id, title, notes, reason string) (run.Run, error) {
	r, err := s.Book.Run(ctx, id)
	if err != nil {
		return r, err
	}
	if r.Open {
		return r, fmt.Errorf("run %s is still being taken: finish it first", id)
	}
	r.Title, r.Notes = title, notes
	if reason == "" {
		reason = "title and notes put right"
	}
	return r, s.Book.AmendRun(ctx, r, reason)
}

// HideRun takes a run out of lists, figures and comparisons, for a reason; it
// stays in the book. ShowRun brings it back.
func (s *Shop) HideRun(ctx context.Context, id, reason string) error {
	return s.Book.HideRun(ctx, id, reason)
}

// ShowRun brings a hidden run back.
func (s *Shop) ShowRun(ctx context.Context, id string) error { return s.Book.ShowRun(ctx, id) }

// WhyHidden is the reason that a run was hidden for, empty where it is not.
func (s *Shop) WhyHidden(ctx context.Context, id string) (string, error) {
	return s.Book.Hidden(ctx, id)
}
