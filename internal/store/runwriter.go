package store

import (
	"context"

	"setwright/internal/run"
	"setwright/internal/store/columnar"
)

// spill is how many packed bytes a RunWriter keeps before it begins to write.
const spill = 8 << 20

// AddRun stores a run with all its readings, or nothing.
func (b *Book) AddRun(ctx context.Context, r run.Run, s run.Series) error {
	w, err := b.BeginRun(ctx, r)
	if err != nil {
		return err
	}
	defer w.Abort()
	if err := w.Append(s); err != nil {
		return err
	}
	return w.Finish()
}

// RunWriter stores one run whose readings come in batches. Until Finish
// returns nil nothing of the run is in the book. Call Abort, best deferred,
// where Finish may not be reached.
//
// Readings wait packed in memory; from 8 MiB on (several million readings) the
// writer holds the book's one turn to write until Finish or Abort.
type RunWriter struct {
	ctx     context.Context
	book    *Book
	heading run.Run
	table   *table
	rest    []columnar.Column // rows of a chunk not yet full
	pending []chunk
	bytes   int
	tx      querier
	commit  func() error
	end     func()
	files   []keptFile
	moved   []string // places into which files were moved
	stored  bool
	over    error // why nothing more can be done
}

// BeginRun starts to store a run. It says at once what is wrong with the
// heading.
func (b *Book) BeginRun(ctx context.Context, r run.Run) (*RunWriter, error) {
	w := &RunWriter{ctx: ctx, book: b, heading: r, table: newTable(r.ID, false)}
	doing := "storing " + runs.name(r.ID)
	if b.writer == nil {
		return nil, fail(ErrReadOnly, "%s: the book in %s is open for reading only", doing, b.dir)
	}
	if err := checkID("run", r.ID); err != nil {
		return nil, err
	}
	there, err := exists(ctx, b.read(ctx), "SELECT 1 FROM runs WHERE id = $1", r.ID)
	if err != nil {
		return nil, b.explain(doing, err)
	}
	if there {
		return nil, fail(ErrExists, "there is a run %q already in this book", r.ID)
	}
	if err := checkRun(ctx, b.read(ctx), runs.name(r.ID), r); err != nil {
		return nil, b.explain(doing, err)
	}
	if _, err := encode(runs.name(r.ID), r); err != nil {
		return nil, err
	}
	return w, nil
}

// Append takes more readings. All batches have the same columns. After an
// error only Abort is left.
func (w *RunWriter) Append(s run.Series) error {
	if w.over != nil {
		return w.over
	}
	if err := w.append(s); err != nil {
		w.stop(w.book.explain("storing "+runs.name(w.heading.ID), err))
		return w.over
	}
	return nil
}

func (w *RunWriter) append(s run.Series) error {
	if len(s.Columns) == 0 {
		return nil
	}
	columns, err := w.table.admit(s)
	if err != nil {
		return err
	}
	for from, n := 0, s.Len(); from < n; {
		have := 0
		if w.rest != nil {
			have = len(w.rest[0].Values)
		}
		to := min(n, from+chunkRows-have)
		part := window(columns, from, to)
		if have == 0 && to-from == chunkRows {
			err = w.pack(part)
		} else if w.rest = join(w.rest, part); len(w.rest[0].Values) == chunkRows {
			err = w.pack(w.rest)
			w.rest = nil
		}
		if err != nil {
			return err
		}
		from = to
	}
	return nil
}

// join appends rows to columns of its own.
func join(to, from []columnar.Column) []columnar.Column {
	if to == nil {
		to = make([]columnar.Column, len(from))
	}
	for i, c := range from {
		if c.Text != nil {
			for len(to[i].Text) < len(to[i].Values) {
				to[i].Text = append(to[i].Text, "")
			}
			to[i].Text = append(to[i].Text, c.Text...)
		} else if to[i].Text != nil {
			to[i].Text = append(to[i].Text, make([]string, len(c.Values))...)
		}
		to[i].Values = append(to[i].Values, c.Values...)
	}
	return to
}

// pack packs a chunk and writes what waits when it is enough.
func (w *RunWriter) pack(columns []columnar.Column) error {
	c, err := w.table.pack(columns)
	if err != nil {
		return err
	}
	w.pending = append(w.pending, c)
	w.bytes += len(c.data)
	if w.bytes < spill {
		return nil
	}
	return w.flush()
}

// flush writes what waits into the transaction, which it begins if need be.
func (w *RunWriter) flush() error {
	if w.tx == nil {
		if err := w.begin(); err != nil {
			return err
		}
		if err := w.noteFiles(); err != nil {
			return err
		}
		if err := w.book.insertRun(w.ctx, w.tx, w.heading, false); err != nil {
			return err
		}
	}
	for _, c := range w.pending {
		if err := c.insert(w.ctx, w.tx, w.heading.ID); err != nil {
			return err
		}
	}
	w.pending, w.bytes = nil, 0
	return nil
}

// begin starts the transaction, or takes part in that of Together.
func (w *RunWriter) begin() error {
	if t := w.book.shared(w.ctx); t != nil {
		w.tx, w.commit, w.end = t.tx, func() error { return nil }, func() {}
		return nil
	}
	tx, end, err := w.book.begin(w.ctx, "storing "+runs.name(w.heading.ID))
	if err != nil {
		return err
	}
	w.tx, w.commit, w.end = tx, tx.Commit, end
	return nil
}

// Finish stores the run. When it returns nil the run is on the disk.
func (w *RunWriter) Finish() error {
	if w.over != nil {
		return w.over
	}
	err := w.book.explain("storing "+runs.name(w.heading.ID), w.finish())
	if err != nil {
		w.stop(err)
		return err
	}
	w.stored = true
	w.stop(fail(ErrClosed, "%s has been stored already", runs.name(w.heading.ID)))
	return nil
}

func (w *RunWriter) finish() error {
	if w.rest != nil {
		if err := w.pack(w.rest); err != nil {
			return err
		}
	}
	if err := w.flush(); err != nil {
		return err
	}
	if err := w.table.save(w.ctx, w.tx); err != nil {
		return err
	}
	if err := w.placeFiles(); err != nil {
		return err
	}
	return w.commit()
}

// Abort gives the run up; nothing of it is stored. After Finish it does
// nothing.
func (w *RunWriter) Abort() {
	if w.over == nil {
		w.stop(fail(ErrClosed, "the storing of %s was given up", runs.name(w.heading.ID)))
	}
}

// stop ends the transaction and remembers why.
func (w *RunWriter) stop(why error) {
	w.over, w.rest, w.pending = why, nil, nil
	if t := w.book.shared(w.ctx); t != nil {
		if t.err == nil && !w.stored {
			t.err = why // what is half written must not stand
		}
		t.moved = append(t.moved, w.moved...)
	} else if !w.stored {
		defer removeFiles(w.moved)
	}
	if w.end != nil {
		w.end()
		w.end = nil
	}
}
