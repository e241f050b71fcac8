package recording

import (
	"encoding/binary"
	"math"
	"time"
)

// header is all that stands before the samples of a file that we write, with
// the places that are set at the end.
type header struct {
	bytes []byte
	junk  int // where the chunk begins that may become ds64
	fact  int // where the frame count of a fact chunk stands, 0 without one
}

// ds64Size is the size of a ds64 chunk without a table (EBU Tech 3306).
const ds64Size = 28

// guidTail is what follows the old format tag in a SubFormat GUID.
const guidTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71"

func makeHeader(f Format) header {
	var h header
	h.bytes = append(h.bytes, "RIFF\xFF\xFF\xFF\xFFWAVE"...)
	h.junk = len(h.bytes)
	h.chunk("JUNK", make([]byte, ds64Size))
	h.chunk("fmt ", f.fmtChunk())
	if f.Float {
		h.fact = len(h.bytes) + 8
		h.chunk("fact", []byte{0xFF, 0xFF, 0xFF, 0xFF})
	}
	if !f.Started.IsZero() {
		h.chunk("bext", bextChunk(f))
	}
	h.bytes = append(h.bytes, "data\xFF\xFF\xFF\xFF"...)
	return h
}

// chunk appends a chunk of even size.
func (h *header) chunk(id string, payload []byte) {
	h.bytes = append(h.bytes, id...)
	h.bytes = binary.LittleEndian.AppendUint32(h.bytes, uint32(len(payload)))
	h.bytes = append(h.bytes, payload...)
}

// fmtChunk is the plain form for 16 bits and float, and the extensible one for
// 24 bits and for more than two channels, which is how such files are commonly
// written.
func (f Format) fmtChunk() []byte {
	tag, align := uint16(tagPCM), f.frameBytes()
	if f.Float {
		tag = tagFloat
	}
	sub := tag
	if f.Bits == 24 || f.Channels > 2 {
		tag = tagExtensible
	}
	le := binary.LittleEndian
	b := le.AppendUint16(nil, tag)
	b = le.AppendUint16(b, uint16(f.Channels))
	b = le.AppendUint32(b, uint32(f.RateHz))
	b = le.AppendUint32(b, uint32(min(f.RateHz*float64(align), math.MaxUint32)))
	b = le.AppendUint16(b, uint16(align))
	b = le.AppendUint16(b, uint16(f.Bits))
	switch tag {
	case tagFloat:
		b = le.AppendUint16(b, 0)
	case tagExtensible:
		b = le.AppendUint16(b, 22)
		b = le.AppendUint16(b, uint16(f.Bits))
		b = le.AppendUint32(b, 0) // no loudspeaker positions
		b = le.AppendUint16(b, sub)
		b = append(b, guidTail...)
	}
	return b
}

// bextChunk is the fixed part of a broadcast extension of version 1 with
// nothing but the start (EBU Tech 3285).
func bextChunk(f Format) []byte {
	b := make([]byte, bextFixed)
	t := f.Started
	copy(b[bextDate:], t.Format("2006-01-02"))
	copy(b[bextTime:], t.Format("15:04:05"))
	midnight := time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
	binary.LittleEndian.PutUint64(b[bextReference:], uint64(math.Round(t.Sub(midnight).Seconds()*f.RateHz)))
	b[bextVersion] = 1
	return b
}

// setSizes writes the final sizes: as RIFF, or as RF64 where 32 bits are not
// enough.
func (h *header) setSizes(data, frames int64) {
	le := binary.LittleEndian
	riff := int64(len(h.bytes)) - 8 + data + data%2
	b := h.bytes
	if h.fact > 0 {
		le.PutUint32(b[h.fact:], uint32(min(frames, math.MaxUint32)))
	}
	if riff < unknownSize {
		le.PutUint32(b[4:], uint32(riff))
		le.PutUint32(b[len(b)-4:], uint32(data))
		return
	}
	copy(b, "RF64")
	copy(b[h.junk:], "ds64")
	ds64 := b[h.junk+8:]
	le.PutUint64(ds64, uint64(riff))
	le.PutUint64(ds64[8:], uint64(data))
	le.PutUint64(ds64[16:], uint64(frames))
}
