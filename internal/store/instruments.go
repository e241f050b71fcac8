package store

import (
	"context"
	"database/sql"

	"setwright/internal/run"
)

// PutInstrument stores an instrument of the bench. One instrument stands once
// for each calibration epoch, column it reads and cell; putting it again
// replaces that.
func (b *Book) PutInstrument(ctx context.Context, i run.Instrument) error {
	return b.write(ctx, "storing instrument "+i.ID, func(tx querier) error {
		if err := checkID("instrument", i.ID); err != nil {
			return err
		}
		doc, err := encode("instrument "+i.ID, i)
		if err != nil {
			return err
		}
		place, err := nextPlace(ctx, tx, "instruments")
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, "INSERT INTO instruments (id, epoch, reads, cell, place, doc) VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (id, epoch, reads, cell) DO UPDATE SET doc = $6",
			i.ID, i.Epoch, i.Reads, i.Cell, place, doc)
		return err
	})
}

// DropInstrument takes an instrument off the bench. Runs keep their own copy
// of the instruments they were made with.
func (b *Book) DropInstrument(ctx context.Context, i run.Instrument) error {
	return b.write(ctx, "deleting instrument "+i.ID, func(tx querier) error {
		_, err := tx.ExecContext(ctx, "DELETE FROM instruments WHERE id = $1 AND epoch = $2 AND reads = $3 AND cell = $4", i.ID, i.Epoch, i.Reads, i.Cell)
		return err
	})
}

// Instruments returns the instruments of the bench in the order of entering.
func (b *Book) Instruments(ctx context.Context) ([]run.Instrument, error) {
	out, err := collect(ctx, b.read(ctx), "SELECT doc FROM instruments ORDER BY place", func(rows *sql.Rows) (i run.Instrument, err error) {
		var doc []byte
		if err := rows.Scan(&doc); err != nil {
			return i, err
		}
		return decode[run.Instrument]("an instrument", doc)
	})
	return out, b.explain("listing instruments", err)
}
