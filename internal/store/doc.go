// Package store keeps the book on disk.
//
// Words: a book is one folder. In it book.db is an SQLite database (WAL,
// foreign keys, synchronous=FULL) with everything but files; recordings/ holds
// files byte for byte as given, of any type, each under its SHA-256. An entry is
// one thing in the book (a set, a run, ...). The series of a run lies in
// chunks, packed by package columnar, in the order they arrived.
//
// What holds:
//
//   - Raw readings and files never change. A run can be hidden, with a reason,
//     and is never deleted; its heading can be put right, the old one is kept.
//   - A call that returns without error is on the disk, also through a crash
//     or a pulled plug. A call that fails has stored nothing.
//   - Figures are a cache. Deleting them loses nothing.
//   - A change or deletion of a set, configuration, state or modification, or of
//     the heading of a run, keeps the old one (see [Change]). Settings, amounts,
//     plans and instruments of the bench are simply replaced.
//
// Two programs on one book: any number may read. Writers take turns: the lock
// is SQLite's own, which the operating system releases when a program dies, so
// nothing stays locked after a crash. A writer that waits longer than
// Options.Wait gives up with ErrBusy and names who else has the book open. For
// the name, each program that opens a book for writing leaves a small file
// book.open-PID; it locks nothing. WAL needs a local disk: a book on a network
// share is not supported.
//
// The SQL is plain, so that a server database can take the place of the file:
// TEXT, INTEGER, REAL and BLOB only, no triggers, no functions on JSON. Entries
// are kept as the JSON of their type beside the columns that are searched.
package store
