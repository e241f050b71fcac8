package typeface

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"io"
	"testing"
)

// What is packed must come out again, table by table, with the checksums of
// the font file; a browser refuses a face otherwise.
func TestPackedFaceHoldsEveryTable(t *testing.T) {
	for _, f := range Faces() {
		packed, err := f.WOFF()
		if err != nil {
			t.Fatal(err)
		}
		want, err := f.tables()
		if err != nil {
			t.Fatal(err)
		}
		if n := binary.BigEndian.Uint32(packed[8:]); int(n) != len(packed) {
			t.Errorf("%s: says it has %d bytes, has %d", f.File, n, len(packed))
		}
		for i, table := range want {
			row := packed[44+20*i:]
			from, size, whole := binary.BigEndian.Uint32(row[4:]), binary.BigEndian.Uint32(row[8:]), binary.BigEndian.Uint32(row[12:])
			data := packed[from : from+size]
			if size < whole {
				r, err := zlib.NewReader(bytes.NewReader(data))
				if err != nil {
					t.Fatal(err)
				}
				if data, err = io.ReadAll(r); err != nil {
					t.Fatal(err)
				}
			}
			if string(row[:4]) != table.tag || !bytes.Equal(data, table.data) || from%4 != 0 {
				t.Errorf("%s: table %s differs", f.File, table.tag)
			}
		}
		t.Logf("%s: %d of %d bytes", f.File, len(packed), len(f.Data))
	}
}

func TestWhatIsNoFontIsRefused(t *testing.T) {
	for _, data := range [][]byte{nil, []byte("OTTO\x00\x09\x00\x00\x00\x00\x00\x00"), bytes.Repeat([]byte{0xff}, 64)} {
		if _, err := (Face{File: "x", Data: data}).WOFF(); err == nil {
			t.Errorf("%d bytes were packed", len(data))
		}
	}
}
