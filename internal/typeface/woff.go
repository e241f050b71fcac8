package typeface

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
)

// WOFF returns the face in the Web Open Font Format 1.0 (W3C Recommendation,
// 13 December 2012, from memory): the tables of the font file, each compressed
// for itself. An error is a font file that is none.
func (f Face) WOFF() ([]byte, error) {
	tables, err := f.tables()
	if err != nil {
		return nil, fmt.Errorf("typeface %s: %w", f.File, err)
	}
	const head, entry = 44, 20
	offset, whole := head+entry*len(tables), 12+16*len(tables)
	var directory, body bytes.Buffer
	for _, t := range tables {
		packed := t.packed()
		directory.WriteString(t.tag)
		writeNumbers(&directory, uint32(offset), uint32(len(packed)), uint32(len(t.data)), t.sum)
		body.Write(packed)
		body.Write(make([]byte, padding(len(packed))))
		offset += len(packed) + padding(len(packed))
		whole += len(t.data) + padding(len(t.data))
	}
	var out bytes.Buffer
	out.WriteString("wOFF")
	out.Write(f.Data[:4])
	writeNumbers(&out, uint32(offset), uint32(len(tables))<<16, uint32(whole), 1<<16, 0, 0, 0, 0, 0)
	out.Write(directory.Bytes())
	out.Write(body.Bytes())
	return out.Bytes(), nil
}

// table is one table of a font file.
type table struct {
	tag  string
	sum  uint32
	data []byte
}

// tables reads the directory of an OpenType file.
func (f Face) tables() ([]table, error) {
	if len(f.Data) < 12 {
		return nil, fmt.Errorf("%d bytes are no font file", len(f.Data))
	}
	n := int(binary.BigEndian.Uint16(f.Data[4:]))
	var out []table
	for i := range n {
		at := 12 + 16*i
		if len(f.Data) < at+16 {
			return nil, fmt.Errorf("directory of %d tables is cut short", n)
		}
		row := f.Data[at : at+16]
		from, size := uint64(binary.BigEndian.Uint32(row[8:])), uint64(binary.BigEndian.Uint32(row[12:]))
		if from+size > uint64(len(f.Data)) {
			return nil, fmt.Errorf("table %s lies beyond the end of the file", row[:4])
		}
		out = append(out, table{string(row[:4]), binary.BigEndian.Uint32(row[4:]), f.Data[from : from+size]})
	}
	return out, nil
}

// packed compresses a table, or leaves it where that gains nothing.
func (t table) packed() []byte {
	var b bytes.Buffer
	w, _ := zlib.NewWriterLevel(&b, zlib.BestCompression) // the level is a valid one
	_, _ = w.Write(t.data)                                // a bytes.Buffer never fails
	_ = w.Close()
	if b.Len() < len(t.data) {
		return b.Bytes()
	}
	return t.data
}

func writeNumbers(b *bytes.Buffer, numbers ...uint32) {
	for _, v := range numbers {
		b.Write(binary.BigEndian.AppendUint32(nil, v))
	}
}

// padding is how many bytes are missing to a multiple of four.
func padding(n int) int { return -n & 3 }
