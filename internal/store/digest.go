package store

import (
	"crypto/sha256"
	"encoding"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"hash"
	"math"

	"setwright/internal/store/columnar"
)

// digester computes the digest of a series as it arrives, whatever the chunks
// it arrives in.
//
// The digest is the SHA-256, in hexadecimal, of the lines
//
//	series 1 ROWS
//	"ROLE" "UNIT" RESOLUTION      for each column, resolution as 16 hexadecimal digits of its bits
//	values HASH
//	text HASH
//
// where the first hash is the SHA-256 of all values row by row, each as the 8
// bytes of its bits, lowest first; and the second that of all texts that are
// not empty, row by row, each as row (8 bytes), column (4), length (4), bytes.
// Rows and columns count from 0.
type digester struct{ values, text hash.Hash }

func newDigester() digester { return digester{sha256.New(), sha256.New()} }

// resume returns a digester in a saved state.
func resume(valueState, textState []byte) (digester, error) {
	d := newDigester()
	if err := d.values.(encoding.BinaryUnmarshaler).UnmarshalBinary(valueState); err != nil {
		return d, err
	}
	return d, d.text.(encoding.BinaryUnmarshaler).UnmarshalBinary(textState)
}

// states returns what resume takes.
func (d digester) states() (valueState, textState []byte, err error) {
	if valueState, err = d.values.(encoding.BinaryMarshaler).MarshalBinary(); err != nil {
		return nil, nil, err
	}
	textState, err = d.text.(encoding.BinaryMarshaler).MarshalBinary()
	return valueState, textState, err
}

// add takes the next rows, the first of which is row first of the series.
func (d digester) add(columns []columnar.Column, first int) {
	const rowsAtOnce = 1024
	n := len(columns[0].Values)
	buf := make([]byte, 8*len(columns)*min(n, rowsAtOnce))
	for from := 0; from < n; from += rowsAtOnce {
		to := min(n, from+rowsAtOnce)
		for k, c := range columns {
			at := 8 * k
			for _, v := range c.Values[from:to] {
				binary.LittleEndian.PutUint64(buf[at:], math.Float64bits(v))
				at += 8 * len(columns)
			}
		}
		d.values.Write(buf[:8*len(columns)*(to-from)])
	}
	d.addText(columns, first)
}

func (d digester) addText(columns []columnar.Column, first int) {
	typed := false
	for _, c := range columns {
		typed = typed || c.Text != nil
	}
	if !typed {
		return
	}
	for i := range columns[0].Values {
		for k, c := range columns {
			if c.Text == nil || c.Text[i] == "" {
				continue
			}
			var head [16]byte
			binary.LittleEndian.PutUint64(head[:], uint64(first+i))
			binary.LittleEndian.PutUint32(head[8:], uint32(k))
			binary.LittleEndian.PutUint32(head[12:], uint32(len(c.Text[i])))
			d.text.Write(head[:])
			d.text.Write([]byte(c.Text[i]))
		}
	}
}

// sum returns the digest of the rows so far.
func (d digester) sum(columns []columnHead, rows int) string {
	h := sha256.New()
	fmt.Fprintf(h, "series 1 %d\n", rows)
	for _, c := range columns {
		fmt.Fprintf(h, "%q %q %016x\n", c.Role, c.Unit, math.Float64bits(c.Resolution))
	}
	fmt.Fprintf(h, "values %x\ntext %x\n", d.values.Sum(nil), d.text.Sum(nil))
	return hex.EncodeToString(h.Sum(nil))
}
