package intake

import (
	"context"
	"errors"
	"fmt"
	"io"
)

// Read streams a source by a layout, batch after batch, to sink, and returns
// what it found. Every line is checked. A cell that cannot be read is a problem:
// reading goes on so that the first ten are known and the rest counted, no more
// batches are given, and the error is a [*Problems]; the sink then has to undo
// what it stored. Repeated and backward times are no problems but stand in the
// report. progress, where not nil, is called with bytes done and bytes in all
// (−1: unknown).
//
// A source that changes while it is read is refused.
func Read(ctx context.Context, src Source, lay Layout, sink func(*Batch) error, progress func(done, total int64)) (*Report, error) {
	if err := lay.check(); err != nil {
		return nil, err
	}
	unchanged, err := src.Watch()
	if err != nil {
		return nil, err
	}
	rows, pos, err := openRows(src, &lay)
	if err != nil {
		return nil, err
	}
	in := newInterpreter(src.Name, &lay)
	err = in.stream(ctx, rows, sink, func() {
		if progress != nil {
			progress(pos(), src.Size)
		}
	})
	if e := rows.close(); err == nil && e != nil {
		err = e
	}
	if err == nil {
		err = unchanged()
	}
	in.finish()
	if err == nil {
		err = in.problems.err()
	}
	if err == nil && in.rep.Rows == 0 {
		err = refuse(Problem{File: src.Name, Found: "no readings", Expected: "at least one row of numbers"})
	}
	return in.rep, err
}

// stream runs all rows through the interpreter.
func (in *interpreter) stream(ctx context.Context, rows rowReader, sink func(*Batch) error, step func()) error {
	give := func() error {
		if err := ctx.Err(); err != nil {
			return err
		}
		step()
		if in.problems.Total > 0 || in.batch.Len() == 0 {
			in.batch.reset()
			return nil
		}
		err := sink(&in.batch)
		in.batch.reset()
		return err
	}
	seen := 0
	for {
		at, err := rows.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		in.row(rows, at)
		if seen++; in.batch.Len() >= batchRows || seen%(4*batchRows) == 0 {
			if err := give(); err != nil {
				return err
			}
		}
	}
	in.rep.CutOff = rows.unended() && in.rep.Rows > 1 && in.lay.Separator.Value != SepNotes
	return give()
}

// openRows opens a source in the format that the layout says. pos tells how many
// bytes have been read.
func openRows(src Source, lay *Layout) (rows rowReader, pos func() int64, err error) {
	f, err := src.Open()
	if err != nil {
		return nil, nil, err
	}
	switch lay.Format.Value {
	case FormatXLSX:
		rows, err = openXLSX(f, src, lay)
	case FormatODS:
		rows, err = openODS(f, src, lay)
	case FormatText:
		c := &counted{r: f}
		return newTextRows(decode(c, lay.Encoding.Value), f, src.Name, lay), func() int64 { return c.done }, nil
	default:
		err = fmt.Errorf("intake: layout with unknown format %q", lay.Format.Value)
	}
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return rows, func() int64 { return src.Size }, nil
}

// Table is a whole log in memory.
type Table struct {
	Lines   []int                `json:"lines"`
	Time    []float64            `json:"time,omitempty"` // s
	Columns map[string][]float64 `json:"columns"`        // by role, in base units
}

// ReadAll reads a whole source by a layout. The table is nil with an error.
func ReadAll(ctx context.Context, src Source, lay Layout) (*Table, *Report, error) {
	t := &Table{Columns: map[string][]float64{}}
	var roles []string
	for _, c := range lay.Columns {
		if r := c.Role.Value; r != RoleTime && r != RoleDate && r != RoleIgnore && r != "" {
			roles = append(roles, r)
			t.Columns[r] = []float64{}
		}
	}
	rep, err := Read(ctx, src, lay, func(b *Batch) error {
		t.Lines = append(t.Lines, b.Lines...)
		t.Time = append(t.Time, b.Time...)
		for i, r := range roles {
			t.Columns[r] = append(t.Columns[r], b.Columns[i]...)
		}
		return nil
	}, nil)
	if err != nil {
		return nil, rep, err
	}
	return t, rep, nil
}
