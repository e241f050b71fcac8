package columnar

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
)

// Limits of one block. They bound what a damaged block can ask for.
const (
	MaxRows    = 1 << 16
	MaxColumns = 256
)

// maxText is the most text one column of a block may hold, in bytes.
const maxText = 1 << 26

const format = 1

// ErrDamaged is the cause of every error of Decode.
var ErrDamaged = errors.New("block of readings is damaged")

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// Column is one column of a block. Text is nil or has one entry a row.
type Column struct {
	Values []float64
	Text   []string
}

// Encode packs columns of equal length into a block.
// It fails for more than MaxRows rows or MaxColumns columns, for unequal
// lengths, and for more text than a block may hold.
func Encode(columns []Column) ([]byte, error) {
	if len(columns) == 0 || len(columns) > MaxColumns {
		return nil, fmt.Errorf("columnar: %d columns in a block, expected 1 to %d", len(columns), MaxColumns)
	}
	rows := len(columns[0].Values)
	if rows > MaxRows {
		return nil, fmt.Errorf("columnar: %d rows in a block, expected at most %d", rows, MaxRows)
	}
	out := []byte{format}
	out = binary.AppendUvarint(out, uint64(rows))
	out = binary.AppendUvarint(out, uint64(len(columns)))
	for i, c := range columns {
		if len(c.Values) != rows || c.Text != nil && len(c.Text) != rows {
			return nil, fmt.Errorf("columnar: column %d has %d values and %d texts, expected %d rows", i+1, len(c.Values), len(c.Text), rows)
		}
		out = appendSection(out, packValues(c.Values))
		text, err := packText(c.Text)
		if err != nil {
			return nil, fmt.Errorf("columnar: column %d: %w", i+1, err)
		}
		out = appendSection(out, text)
	}
	return binary.LittleEndian.AppendUint32(out, crc32.Checksum(out, castagnoli)), nil
}

// Decode returns the columns of a block.
func Decode(block []byte) ([]Column, error) { return AppendTo(nil, block) }

// AppendTo decodes a block and appends its rows to columns, which is nil or
// has as many columns as the block. A column gets Text when it or the block
// has text; rows without any are "". On error columns are returned as given.
func AppendTo(columns []Column, block []byte) ([]Column, error) {
	r, rows, n, err := open(block)
	if err != nil {
		return columns, err
	}
	if columns == nil {
		columns = make([]Column, n)
	}
	if len(columns) != n {
		return columns, damaged("it has %d columns, expected %d", n, len(columns))
	}
	out := make([]Column, n)
	for i, c := range columns {
		if out[i], err = r.column(c, rows); err != nil {
			return columns, fmt.Errorf("column %d: %w", i+1, err)
		}
	}
	if len(r.rest) != 0 {
		return columns, damaged("%d bytes too many", len(r.rest))
	}
	return out, nil
}

// open checks the frame of a block and returns what is inside it.
func open(block []byte) (r reader, rows, columns int, err error) {
	if len(block) < 7 {
		return r, 0, 0, damaged("%d bytes only", len(block))
	}
	body, sum := block[:len(block)-4], binary.LittleEndian.Uint32(block[len(block)-4:])
	if got := crc32.Checksum(body, castagnoli); got != sum {
		return r, 0, 0, damaged("its checksum is %08x, expected %08x", got, sum)
	}
	if body[0] != format {
		return r, 0, 0, damaged("it is of format %d, this program knows format %d", body[0], format)
	}
	r.rest = body[1:]
	if rows, err = r.number(MaxRows); err != nil {
		return r, 0, 0, err
	}
	if columns, err = r.number(MaxColumns); err != nil {
		return r, 0, 0, err
	}
	if columns == 0 {
		return r, 0, 0, damaged("it has no columns")
	}
	return r, rows, columns, nil
}

func damaged(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrDamaged, fmt.Sprintf(format, args...))
}
