package recording

import (
	"encoding/binary"
	"math/bits"
)

// ranOut is why a frame cannot be decoded that ends too early.
const ranOut = "its data end before its samples do"

// bitReader reads the data of one frame, most significant bit first. After
// reading beyond the end it gives zeros, and over is true.
type bitReader struct {
	data []byte // with padding
	at   int    // bit
	end  int    // bits without the padding
}

// window returns the bits that follow at the upper end; 57 of them are good.
func window(data []byte, at int) uint64 {
	return binary.BigEndian.Uint64(data[at>>3:]) << (at & 7)
}

// read returns n bits, at most 57.
func (b *bitReader) read(n int) uint64 {
	if b.at+n > b.end {
		b.at = b.end + 1
		return 0
	}
	if n == 0 {
		return 0
	}
	v := window(b.data, b.at) >> (64 - n)
	b.at += n
	return v
}

// signed returns a number of n bits in two's complement.
func (b *bitReader) signed(n int) int64 {
	if n == 0 {
		return 0
	}
	return int64(b.read(n)<<(64-n)) >> (64 - n)
}

// unary returns the number of zeros in front of the next one, which it passes.
func (b *bitReader) unary() (n int) {
	for b.at < b.end {
		zeros := bits.LeadingZeros64(window(b.data, b.at))
		if zeros < 57 {
			b.at += zeros + 1
			return n + zeros
		}
		n += 57
		b.at += 57
	}
	b.at = b.end + 1
	return 0
}

func (b *bitReader) over() bool { return b.at > b.end }

// decodeFrame decodes all channels and returns the number of bytes in front of
// the frame's checksum. why is empty if all went well.
func (j *job) decodeFrame(si streamInfo) (n int, why string) {
	b := &bitReader{data: j.data, at: 8 * j.head.size, end: 8 * (len(j.data) - padding)}
	for ch := range si.channels {
		depth := si.bits
		switch {
		case j.head.assignment == 8 && ch == 1, j.head.assignment == 9 && ch == 0, j.head.assignment == 10 && ch == 1:
			depth++ // the side channel (9.1.3)
		}
		if why := subframe(b, j.samples(ch), depth); why != "" {
			return 0, why
		}
	}
	if b.over() {
		return 0, ranOut
	}
	j.uncouple()
	return (b.at + 7) / 8, ""
}

// uncouple makes left and right out of what was coded instead (4.2).
func (j *job) uncouple() {
	if j.head.assignment < 8 {
		return
	}
	a, b := j.samples(0)[history:], j.samples(1)[history:]
	b = b[:len(a)]
	switch j.head.assignment {
	case 8:
		for i, left := range a {
			b[i] = left - b[i]
		}
	case 9:
		for i, side := range a {
			a[i] = side + b[i]
		}
	default:
		for i, mid := range a {
			side := b[i]
			mid = mid<<1 | side&1
			a[i], b[i] = (mid+side)>>1, (mid-side)>>1
		}
	}
}

// subframe decodes one channel (9.2) into s, in front of which stands the
// history.
func subframe(b *bitReader, s []int64, depth int) (why string) {
	clear(s[:history])
	head := int(b.read(8))
	if head&0x80 != 0 {
		return "a channel begins with a bit that must be 0"
	}
	wasted := 0
	if head&1 != 0 {
		wasted = b.unary() + 1
	}
	if depth -= wasted; depth < 1 {
		return "a channel has no bits left"
	}
	block := s[history:]
	switch kind := head >> 1; {
	case kind == 0:
		v := b.signed(depth)
		for i := range block {
			block[i] = v
		}
	case kind == 1:
		for i := range block {
			block[i] = b.signed(depth)
		}
	case kind >= 8 && kind <= 12:
		why = fixedPredictor(b, s, kind-8, depth)
	case kind >= 32:
		why = linearPredictor(b, s, kind-31, depth)
	default:
		why = "a channel is coded in a reserved way"
	}
	if b.over() {
		return ranOut
	}
	if wasted > 0 && why == "" {
		for i := range block {
			block[i] <<= wasted
		}
	}
	return why
}

// warmUp reads the samples that a predictor of some order begins with.
func warmUp(b *bitReader, s []int64, order, depth int) bool {
	if order > len(s)-history {
		return false
	}
	for i := range order {
		s[history+i] = b.signed(depth)
	}
	return true
}

const tooShort = "a predictor is longer than its block"

func fixedPredictor(b *bitReader, s []int64, order, depth int) (why string) {
	if !warmUp(b, s, order, depth) {
		return tooShort
	}
	if why := residual(b, s[history:], order); why != "" {
		return why
	}
	predictFixed(s, order)
	return ""
}

func linearPredictor(b *bitReader, s []int64, order, depth int) (why string) {
	if !warmUp(b, s, order, depth) {
		return tooShort
	}
	precision := int(b.read(4)) + 1
	if precision == 16 {
		return "the precision of a predictor is a forbidden one"
	}
	shift := b.signed(5)
	if shift < 0 {
		return "the shift of a predictor is negative"
	}
	var c [history]int64
	for i := range order {
		c[i] = b.signed(precision)
	}
	if why := residual(b, s[history:], order); why != "" {
		return why
	}
	predictLinear(s, &c, order, uint(shift))
	return ""
}
