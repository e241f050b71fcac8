package store

import (
	"context"
	"database/sql"
	"time"
)

// turn lets one writer of this program write at a time, and says which.
type turn struct {
	token  chan struct{}
	holder chan string // holds what is being done
}

func newTurn() *turn {
	t := &turn{make(chan struct{}, 1), make(chan string, 1)}
	t.token <- struct{}{}
	t.holder <- ""
	return t
}

// take waits for the turn. Give it back with give.
func (t *turn) take(ctx context.Context, doing string, wait time.Duration) error {
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-t.token:
		<-t.holder
		t.holder <- doing
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		now := <-t.holder
		t.holder <- now
		return fail(ErrBusy, "%s: this program has been %s for more than %s; nothing was stored, do it again when that is done", doing, now, wait)
	}
}

func (t *turn) give() { t.token <- struct{}{} }

// begin starts a transaction that may write. end must be called once.
func (b *Book) begin(ctx context.Context, doing string) (tx *sql.Tx, end func(), err error) {
	if b.writer == nil {
		return nil, nil, fail(ErrReadOnly, "%s: the book in %s is open for reading only", doing, b.dir)
	}
	if err := b.turn.take(ctx, doing, b.wait); err != nil {
		return nil, nil, b.explain(doing, err)
	}
	tx, err = b.writer.BeginTx(ctx, nil)
	if err != nil {
		b.turn.give()
		return nil, nil, b.explain(doing, err)
	}
	return tx, func() {
		_ = tx.Rollback() // does nothing after Commit
		b.turn.give()
	}, nil
}

// together is the transaction that the calls within Together share.
type together struct {
	book *Book
	tx   *sql.Tx
	err  error // the first that failed

	moved []string // files in their places, to be taken away if nothing is stored
}

type togetherKey struct{}

// shared returns it, or nil.
func (b *Book) shared(ctx context.Context) *together {
	if t, ok := ctx.Value(togetherKey{}).(*together); ok && t.book == b {
		return t
	}
	return nil
}

// read returns where to read from: within Together what was written in it is
// seen.
func (b *Book) read(ctx context.Context) querier {
	if t := b.shared(ctx); t != nil {
		return t.tx
	}
	return b.reader
}

// Together does several calls as one: all is stored, or nothing. f makes them
// with the context it is given, and from one goroutine. Where one of them
// fails, or f does, nothing is stored. Readings appended and files put within
// it are durable when Together returns.
func (b *Book) Together(ctx context.Context, doing string, f func(ctx context.Context) error) error {
	if b.shared(ctx) != nil {
		return f(ctx)
	}
	tx, end, err := b.begin(ctx, doing)
	if err != nil {
		return err
	}
	defer end()
	t := &together{book: b, tx: tx}
	err = f(context.WithValue(ctx, togetherKey{}, t))
	if err == nil {
		err = t.err
	}
	if err == nil {
		err = tx.Commit()
	}
	if err != nil {
		removeFiles(t.moved)
	}
	return b.explain(doing, err)
}

// write does f in one transaction: all of it is stored, or nothing.
func (b *Book) write(ctx context.Context, doing string, f func(tx querier) error) error {
	if t := b.shared(ctx); t != nil {
		err := b.explain(doing, f(t.tx))
		if t.err == nil {
			t.err = err
		}
		return err
	}
	tx, end, err := b.begin(ctx, doing)
	if err != nil {
		return err
	}
	defer end()
	if err := f(tx); err != nil {
		return b.explain(doing, err)
	}
	return b.explain(doing, tx.Commit())
}

// exists says whether a query gives a row.
func exists(ctx context.Context, q querier, query string, args ...any) (bool, error) {
	var one int
	err := q.QueryRowContext(ctx, query, args...).Scan(&one)
	if err == sql.ErrNoRows {
		return false, nil
	}
	return err == nil, err
}

// stamp writes a moment so that text sorts as time does.
func stamp(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.000000000Z") }
