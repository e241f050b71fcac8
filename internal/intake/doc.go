// Package intake reads logs as people keep them: tables written by programs in
// any of the usual dialects, spreadsheets, and a few lines of notes.
//
// # Words
//
//   - source: a file (or bytes) with a name; see [Source].
//   - layout: how a source is to be read: its encoding, its separator, its
//     decimal mark, which line holds the headings, and for each column what it
//     is and in which unit. Each item of a layout is a [Guess]: a value, whether
//     it is certain, and why it was taken. A layout can be shown to a person,
//     put right by an [Override], and stored.
//   - role: what a column is for: "time", or the id of a [ColumnSpec] that the
//     caller wants, or "date", "ignore".
//   - batch: some thousands of rows as columns of float64 in the column's base
//     unit; NaN is a missing cell.
//   - problem: a place in the source that cannot be read as the layout says. Ten
//     are kept, the rest are counted. With any problem the import is refused.
//   - warning: something a person should know that does not stop the import.
//
// # Use
//
// [Inspect] looks at the head and the tail of a source and gives a [Preview]
// with the layout it would use; [Read] streams the whole source by that layout,
// checks each line, and holds no more than one batch; [ReadAll] gathers it.
// The package knows no measurement: the columns that make sense are passed in.
//
// # Time
//
// Times become seconds. Elapsed times and plain numbers count from the zero of
// the log. Clock times and time stamps count from the start given by the user,
// else from the first row. Clock times that jump back by more than twelve hours
// roll over midnight; a smaller jump back is time running backwards, which is
// reported with its place and left to the measurement to refuse.
//
// # Numbers
//
// A number keeps its exactness: the power of ten of its unit is applied to the
// decimal digits before they become binary, so "7.0653 MHz" is 7065300 Hz to
// the last bit. The size of the last digit typed is reported for each column.
package intake
