package recording

import "math/bits"

// residual reads what a predictor of some order was wrong by, into the block
// behind the samples that it began with (9.2.7).
func residual(b *bitReader, block []int64, order int) (why string) {
	method, partitions := b.read(2), 1<<b.read(4)
	if method > 1 {
		return "its residual is coded in a reserved way"
	}
	size := len(block) / partitions
	if size*partitions != len(block) || size < order {
		return "its residual cannot be split as it says"
	}
	parameterBits, from := 4+int(method), order
	for p := range partitions {
		part := block[from : (p+1)*size]
		from = (p + 1) * size
		k := int(b.read(parameterBits))
		if b.over() {
			return ranOut
		}
		if k == 1<<parameterBits-1 {
			escaped(b, part)
		} else {
			b.rice(part, uint(k))
		}
		if b.over() {
			return ranOut
		}
	}
	return ""
}

// escaped reads a partition that is not Rice coded.
func escaped(b *bitReader, part []int64) {
	depth := int(b.read(5))
	for i := range part {
		part[i] = b.signed(depth)
	}
}

// rice reads a partition of Rice codes with parameter k, at most 30: zeros and
// a one for the upper part, k bits for the lower, the sign in the lowest.
func (b *bitReader) rice(part []int64, k uint) {
	data, at, end := b.data, b.at, b.end
	for i := 0; i < len(part); {
		if at > end {
			b.at = end + 1
			return
		}
		w, left := window(data, at), uint(57)
		from := i
		for ; i < len(part); i++ {
			zeros := uint(bits.LeadingZeros64(w))
			use := zeros + 1 + k
			if use > left {
				break
			}
			low := w << ((zeros + 1) & 63) >> 1 >> ((63 - k) & 63)
			v := uint64(zeros)<<(k&63) | low
			part[i] = int64(v>>1) ^ -int64(v&1)
			w <<= use & 63
			left -= use
		}
		at += int(57 - left)
		if i == from {
			b.at = at
			part[i] = b.longRice(k)
			at = b.at
			i++
		}
	}
	b.at = at
}

// longRice reads one code that may be longer than a window.
func (b *bitReader) longRice(k uint) int64 {
	v := uint64(b.unary())<<k | b.read(int(k))
	return int64(v>>1) ^ -int64(v&1)
}
