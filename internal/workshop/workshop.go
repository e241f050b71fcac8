// Package workshop is what a user can do, one function each: take in a set,
// import a log, type readings, amend, look at figures, compare, judge a claim,
// plan the runs for one. The command line and the pages call the same
// functions and compute nothing of their own.
package workshop

import (
	"time"

	"setwright/internal/measure"
	"setwright/internal/store"
)

// Shop joins a book with the measurements. Clock tells the time; it is a field
// so that tests and the demonstration can set it.
type Shop struct {
	Book     *store.Book
	Registry *measure.Registry
	Clock    func() time.Time

	listening listenings
}

// New returns a workshop on a book. The book may be nil for work on files
// alone.
func New(book *store.Book, registry *measure.Registry) *Shop {
	return &Shop{Book: book, Registry: registry, Clock: time.Now}
}
