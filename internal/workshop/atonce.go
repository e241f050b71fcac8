package workshop

import (
	"cmp"
	"context"
)

// atOnce does several changes of the book as one: all are stored, or none.
// What goes wrong is said as it is, without what the book would say before it.
func (s *Shop) atOnce(ctx context.Context, doing string, do func(ctx context.Context) error) error {
	var wrong error
	err := s.Book.Together(ctx, doing, func(ctx context.Context) error {
		wrong = do(ctx)
		return wrong
	})
	return cmp.Or(wrong, err)
}
