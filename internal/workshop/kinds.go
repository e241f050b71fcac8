package workshop

import "setwright/internal/store"

// The kinds of error that a book gives, for those who answer a user; test with
// errors.Is.
var (
	ErrNotFound = store.ErrNotFound
	ErrExists   = store.ErrExists
	ErrInUse    = store.ErrInUse
	ErrInvalid  = store.ErrInvalid
	ErrClosed   = store.ErrClosed
	ErrReadOnly = store.ErrReadOnly
	ErrBusy     = store.ErrBusy
	ErrDiskFull = store.ErrDiskFull
	ErrDamaged  = store.ErrDamaged
)
