package workshop

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"setwright/internal/run"
	"setwright/internal/store"
)

// Change is something that was changed or taken away, and can be put back.
type Change struct {
	ID     int64
	Made   time.Time
	What   string // `state "pair fitted"`
	Gone   bool   // it was taken away, not changed
	Reason string
}

// recent is how many changes of the whole book are looked through.
const recent = 500

// History lists the last changes to a set and to its configurations, states,
// modifications and runs, the newest first; at most limit of them.
func (s *Shop) History(ctx context.Context, setID string, limit int) ([]Change, error) {
	all, err := s.Book.Changes(ctx, "", "", recent)
	if err != nil {
		return nil, err
	}
	var out []Change
	for _, c := range all {
		if belongs(c, setID) && len(out) < limit {
			out = append(out, Change{ID: c.ID, Made: c.Made, What: whatChanged(c), Gone: c.Action == store.ActionDelete, Reason: c.Reason})
		}
	}
	return out, nil
}

// PutBack puts an entry back as it was before a change. That is a change as
// well, so it can be undone too.
func (s *Shop) PutBack(ctx context.Context, change int64) error { return s.Book.Restore(ctx, change) }

// belongs says whether a change is of a set or of something of the set's.
func belongs(c store.Change, setID string) bool {
	if c.EntryID == setID || strings.HasPrefix(c.EntryID, setID+"/") {
		return true
	}
	var r run.Run
	return c.Word == "run" && json.Unmarshal(c.Before, &r) == nil && strings.HasPrefix(r.StateID, setID+"/")
}

// whatChanged names the entry of a change by its kind and its name then.
func whatChanged(c store.Change) string {
	var named struct{ Name, Title string }
	if err := json.Unmarshal(c.Before, &named); err != nil || named.Name+named.Title == "" {
		return c.Word + " " + c.EntryID
	}
	return c.Word + " \u201c" + named.Name + named.Title + "\u201d"
}
