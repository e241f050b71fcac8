package recording

import (
	"bytes"
	"encoding/binary"
)

// A file is put together from its parts, every byte spelled out.

// part is a chunk with its pad byte.
func part(id string, payload []byte) []byte {
	b := binary.LittleEndian.AppendUint32([]byte(id), uint32(len(payload)))
	b = append(b, payload...)
	if len(payload)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// sized is a chunk that states another size than it has, without a pad byte.
func sized(id string, size uint32, payload []byte) []byte {
	return append(binary.LittleEndian.AppendUint32([]byte(id), size), payload...)
}

// riffFile is a WAV file of parts.
func riffFile(parts ...[]byte) []byte {
	body := bytes.Join(parts, nil)
	return append(sized("RIFF", uint32(4+len(body)), []byte("WAVE")), body...)
}

// fmtPart is a plain fmt chunk.
func fmtPart(tag uint16, channels int, rate uint32, bits int) []byte {
	return part("fmt ", fmtBytes(tag, channels, rate, bits))
}

func fmtBytes(tag uint16, channels int, rate uint32, bits int) []byte {
	le := binary.LittleEndian
	align := channels * ((bits + 7) / 8)
	b := le.AppendUint16(nil, tag)
	b = le.AppendUint16(b, uint16(channels))
	b = le.AppendUint32(b, rate)
	b = le.AppendUint32(b, rate*uint32(align))
	b = le.AppendUint16(b, uint16(align))
	return le.AppendUint16(b, uint16(bits))
}

// extensible is the long form of a fmt chunk.
func extensible(sub uint16, channels int, rate uint32, bits, valid int) []byte {
	le := binary.LittleEndian
	b := fmtBytes(tagExtensible, channels, rate, bits)
	b = le.AppendUint16(b, 22)
	b = le.AppendUint16(b, uint16(valid))
	b = le.AppendUint32(b, 4)
	b = le.AppendUint16(b, sub)
	return part("fmt ", append(b, guidTail...))
}

// ds64Part is a ds64 chunk without a table.
func ds64Part(riff, data, frames uint64) []byte {
	le := binary.LittleEndian
	b := le.AppendUint64(nil, riff)
	b = le.AppendUint64(b, data)
	b = le.AppendUint64(b, frames)
	return part("ds64", le.AppendUint32(b, 0))
}

// bigEndian turns a file of integers of some size into its RIFX twin.
func bigEndian(b []byte, size int) []byte {
	out := bytes.Clone(b)
	copy(out, "RIFX")
	swap := func(at, n int) { reverse(out[at:at+n], n) }
	swap(4, 4)
	for at := 12; at+8 <= len(out); {
		n := int(binary.LittleEndian.Uint32(b[at+4:]))
		swap(at+4, 4)
		switch string(b[at : at+4]) {
		case "fmt ":
			for _, f := range [][2]int{{8, 2}, {10, 2}, {12, 4}, {16, 4}, {20, 2}, {22, 2}} {
				swap(at+f[0], f[1])
			}
		case "data":
			reverse(out[at+8:at+8+n], size)
		}
		at += 8 + n + n%2
	}
	return out
}

// four is four frames of one channel of 16 bits: 0, ½, −½ and −1.
var four = []byte{0, 0, 0, 0x40, 0, 0xC0, 0, 0x80}

var fourSamples = []float64{0, 0.5, -0.5, -1}

// plain is the format that four is in.
func plain() []byte { return fmtPart(tagPCM, 1, 8000, 16) }
