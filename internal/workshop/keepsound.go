package workshop

import (
	"context"

	"setwright/internal/run"
	"setwright/internal/store"
)

// keptSound is a copied recording and the name it came with.
type keptSound struct {
	copied *store.Incoming
	name   string
}

// storeSound stores a run without readings, and its recordings beside it.
func (s *Shop) storeSound(ctx context.Context, r run.Run, copies []keptSound) error {
	w, err := s.Book.BeginRun(ctx, r)
	if err != nil {
		return err
	}
	defer w.Abort()
	for _, c := range copies {
		w.Keep(c.copied, c.name)
	}
	return w.Finish()
}
