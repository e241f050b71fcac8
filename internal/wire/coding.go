package wire

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
)

// Coding is how a sample is written.
type Coding struct {
	Bits  int  // 8, 16, 24, 32 or 64
	Float bool // floating point, 32 or 64 bit
	Big   bool // highest byte first
}

// codings are the names under which recorders know them.
var codings = []struct {
	name   string
	coding Coding
}{
	{"u8", Coding{Bits: 8}},
	{"s16le", Coding{Bits: 16}}, {"s16be", Coding{Bits: 16, Big: true}},
	{"s24le", Coding{Bits: 24}}, {"s24be", Coding{Bits: 24, Big: true}},
	{"s32le", Coding{Bits: 32}}, {"s32be", Coding{Bits: 32, Big: true}},
	{"f32le", Coding{Bits: 32, Float: true}}, {"f32be", Coding{Bits: 32, Float: true, Big: true}},
	{"f64le", Coding{Bits: 64, Float: true}}, {"f64be", Coding{Bits: 64, Float: true, Big: true}},
}

// CodingNames are the names that ParseCoding takes.
func CodingNames() []string {
	var out []string
	for _, c := range codings {
		out = append(out, c.name)
	}
	return out
}

// ParseCoding reads the name of a coding: "s16le".
func ParseCoding(text string) (Coding, error) {
	for _, c := range codings {
		if strings.EqualFold(strings.TrimSpace(text), c.name) {
			return c.coding, nil
		}
	}
	return Coding{}, fmt.Errorf("found the format %q, expected one of %s", text, strings.Join(CodingNames(), ", "))
}

// String is the name of the coding.
func (c Coding) String() string {
	for _, known := range codings {
		if known.coding == c {
			return known.name
		}
	}
	return fmt.Sprintf("%d bit", c.Bits)
}

// Bytes is the size of a sample.
func (c Coding) Bytes() int { return c.Bits / 8 }

// Decode appends the samples in whole data to dst; integers of b bits become
// x/2^(b−1), 8 bit is unsigned with 128 for zero.
func (c Coding) Decode(dst []float64, data []byte) []float64 {
	size := c.Bytes()
	for ; len(data) >= size; data = data[size:] {
		dst = append(dst, c.sample(data))
	}
	return dst
}

func (c Coding) sample(b []byte) float64 {
	var order binary.ByteOrder = binary.LittleEndian
	if c.Big {
		order = binary.BigEndian
	}
	switch {
	case c.Bits == 8:
		return (float64(b[0]) - 128) / 128
	case c.Bits == 16:
		return float64(int16(order.Uint16(b))) / (1 << 15)
	case c.Bits == 24 && c.Big:
		return float64(int32(uint32(b[0])<<24|uint32(b[1])<<16|uint32(b[2])<<8)>>8) / (1 << 23)
	case c.Bits == 24:
		return float64(int32(uint32(b[2])<<24|uint32(b[1])<<16|uint32(b[0])<<8)>>8) / (1 << 23)
	case c.Bits == 32 && c.Float:
		return float64(math.Float32frombits(order.Uint32(b)))
	case c.Bits == 32:
		return float64(int32(order.Uint32(b))) / (1 << 31)
	}
	return math.Float64frombits(order.Uint64(b))
}
