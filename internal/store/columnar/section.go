package columnar

import (
	"encoding/binary"
	"sync"

	"github.com/klauspost/compress/zstd"
)

// A section is one part of a block: a flag (0 plain, 1 Zstandard), its length,
// for Zstandard the plain length, and the bytes.
const (
	sectionPlain = 0
	sectionZstd  = 1
)

// worthTrying is the length below which compression cannot pay.
const worthTrying = 48

var encoder = sync.OnceValue(func() *zstd.Encoder {
	e, err := zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1), zstd.WithEncoderLevel(zstd.SpeedFastest),
		zstd.WithEncoderCRC(false), zstd.WithSingleSegment(true))
	if err != nil {
		panic("columnar: options of the encoder: " + err.Error())
	}
	return e
})

var decoder = sync.OnceValue(func() *zstd.Decoder {
	d, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(0), zstd.WithDecoderMaxMemory(maxText+1<<20))
	if err != nil {
		panic("columnar: options of the decoder: " + err.Error())
	}
	return d
})

// appendSection appends a section, compressed where that saves a sixteenth.
func appendSection(out, plain []byte) []byte {
	if len(plain) >= worthTrying {
		if packed := encoder().EncodeAll(plain, nil); len(packed) < len(plain)-len(plain)/16 {
			out = append(out, sectionZstd)
			out = binary.AppendUvarint(out, uint64(len(packed)))
			out = binary.AppendUvarint(out, uint64(len(plain)))
			return append(out, packed...)
		}
	}
	out = append(out, sectionPlain)
	out = binary.AppendUvarint(out, uint64(len(plain)))
	return append(out, plain...)
}

// reader takes a block apart. It never reads past the end.
type reader struct{ rest []byte }

// number returns an unsigned number of at most max.
func (r *reader) number(max int) (int, error) {
	v, n := binary.Uvarint(r.rest)
	if n <= 0 {
		return 0, damaged("a number is cut off")
	}
	if v > uint64(max) {
		return 0, damaged("a number is %d, expected at most %d", v, max)
	}
	r.rest = r.rest[n:]
	return int(v), nil
}

// signed returns a number with a sign.
func (r *reader) signed() (int64, error) {
	u, n := binary.Uvarint(r.rest)
	if n <= 0 {
		return 0, damaged("a number is cut off")
	}
	r.rest = r.rest[n:]
	return unzigzag(u), nil
}

// take returns the next n bytes.
func (r *reader) take(n int) ([]byte, error) {
	if n > len(r.rest) {
		return nil, damaged("%d bytes expected, %d left", n, len(r.rest))
	}
	b := r.rest[:n]
	r.rest = r.rest[n:]
	return b, nil
}

// section returns the plain bytes of the next section, at most max.
func (r *reader) section(max int) ([]byte, error) {
	flag, err := r.take(1)
	if err != nil {
		return nil, err
	}
	n, err := r.number(max)
	if err != nil {
		return nil, err
	}
	switch flag[0] {
	case sectionPlain:
		return r.take(n)
	case sectionZstd:
		return r.inflate(n, max)
	}
	return nil, damaged("a section of kind %d", flag[0])
}

// inflate returns the plain bytes of n compressed ones.
func (r *reader) inflate(n, max int) ([]byte, error) {
	size, err := r.number(max)
	if err != nil {
		return nil, err
	}
	packed, err := r.take(n)
	if err != nil {
		return nil, err
	}
	var h zstd.Header
	if err := h.Decode(packed); err != nil || !h.HasFCS || h.FrameContentSize != uint64(size) {
		return nil, damaged("its compressed part does not have the %d bytes expected", size)
	}
	plain, err := decoder().DecodeAll(packed, make([]byte, 0, size))
	if err != nil {
		return nil, damaged("its compressed part: %v", err)
	}
	if len(plain) != size {
		return nil, damaged("its compressed part has %d bytes, expected %d", len(plain), size)
	}
	return plain, nil
}

// column appends the rows of the next column to c.
func (r *reader) column(c Column, rows int) (Column, error) {
	plain, err := r.section(maxValueBytes)
	if err != nil {
		return c, err
	}
	before := len(c.Values)
	if c.Values, err = unpackValues(c.Values, plain, rows); err != nil {
		return c, err
	}
	if plain, err = r.section(maxText + 10*MaxRows); err != nil {
		return c, err
	}
	c.Text, err = unpackText(c.Text, plain, before, rows)
	return c, err
}
