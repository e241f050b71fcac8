package columnar

import (
	"encoding/binary"
	"errors"
	"hash/crc32"
	"math"
	"testing"
)

// FuzzDecode feeds bytes with a right checksum, so that what lies behind it is
// reached: no panic, only ErrDamaged, and what decodes encodes again.
func FuzzDecode(f *testing.F) {
	add := func(columns ...Column) {
		block, err := Encode(columns)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(block[:len(block)-4])
	}
	add(counterLog(200)...)
	add(Column{Values: []float64{1.5, math.NaN(), math.Inf(1)}, Text: []string{"1.5", "", "over"}})
	add(Column{Values: []float64{math.Pi, math.E, -math.Pi}})
	add(Column{})
	f.Fuzz(func(t *testing.T, body []byte) {
		block := binary.LittleEndian.AppendUint32(append([]byte(nil), body...), crc32.Checksum(body, castagnoli))
		columns, err := Decode(block)
		if err != nil {
			if !errors.Is(err, ErrDamaged) {
				t.Fatalf("error %v, expected ErrDamaged", err)
			}
			return
		}
		roundTrip(t, columns)
	})
}

// FuzzRoundTrip takes any bytes as bit patterns of values.
func FuzzRoundTrip(f *testing.F) {
	f.Add([]byte("\x00\x00\x00\x00\x00\x00\xf0\x3f\x00\x00\x00\x00\x00\x00\x00\x80"))
	f.Add(binary.LittleEndian.AppendUint64(nil, math.Float64bits(10000000.123456)))
	f.Fuzz(func(t *testing.T, raw []byte) {
		var c Column
		for ; len(raw) >= 8 && len(c.Values) < MaxRows; raw = raw[8:] {
			c.Values = append(c.Values, math.Float64frombits(binary.LittleEndian.Uint64(raw)))
		}
		roundTrip(t, []Column{c})
	})
}
