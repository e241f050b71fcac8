package recording

import "math/bits"

// frameHeader is the head of a FLAC frame (9.1).
type frameHeader struct {
	variable   bool // block sizes vary, and number counts samples
	blockSize  int
	rate       int // 0: as in STREAMINFO
	channels   int
	assignment int // 8: left and side, 9: side and right, 10: mid and side
	bits       int // 0: as in STREAMINFO
	number     uint64
	size       int // bytes of the head
}

// maxHeader is the longest head in bytes.
const maxHeader = 16

var frameRates = [12]int{0, 88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000}

// parseFrameHeader reads the head that b begins with. ok is false where it is
// none, and where b ends within it.
func parseFrameHeader(b []byte) (h frameHeader, ok bool) {
	if len(b) < 6 || b[0] != 0xFF || b[1]&0xFE != 0xF8 || b[3]&1 != 0 {
		return h, false
	}
	h.variable = b[1]&1 != 0
	if !h.channelsAndBits(b[3]) {
		return h, false
	}
	n, ok := h.codedNumber(b[4:])
	if !ok {
		return h, false
	}
	rest := b[4+n:]
	n += 4
	used, ok := h.sizeAndRate(b[2], rest)
	n += used
	if !ok || len(b) <= n || crc8(b[:n]) != b[n] {
		return h, false
	}
	h.size = n + 1
	return h, true
}

func (h *frameHeader) channelsAndBits(b byte) bool {
	h.assignment = int(b >> 4)
	h.channels = h.assignment + 1
	if h.assignment >= 8 {
		h.channels = 2
	}
	depth := int(b >> 1 & 7)
	h.bits = [8]int{0, 8, 12, -1, 16, 20, 24, 32}[depth]
	return h.assignment <= 10 && h.bits >= 0
}

// codedNumber reads a number that is coded as UTF-8 codes characters, extended
// to seven bytes (9.1.5).
func (h *frameHeader) codedNumber(b []byte) (n int, ok bool) {
	ones := bits.LeadingZeros8(^b[0])
	switch {
	case ones == 0:
		h.number = uint64(b[0])
		return 1, true
	case ones == 1 || ones == 8 || len(b) < ones:
		return 0, false
	}
	h.number = uint64(b[0] & (0x7F >> ones))
	for _, c := range b[1:ones] {
		if c&0xC0 != 0x80 {
			return 0, false
		}
		h.number = h.number<<6 | uint64(c&0x3F)
	}
	return ones, true
}

// sizeAndRate reads the codes of block size and sample rate and what they say
// follows the number (9.1.1, 9.1.2, 9.1.6, 9.1.7).
func (h *frameHeader) sizeAndRate(codes byte, b []byte) (used int, ok bool) {
	extra := func(size int) (v int) {
		if len(b) < used+size {
			used = len(b) + 1
			return 0
		}
		for _, x := range b[used : used+size] {
			v = v<<8 | int(x)
		}
		used += size
		return v
	}
	switch code := int(codes >> 4); {
	case code == 0:
		return 0, false
	case code == 1:
		h.blockSize = 192
	case code <= 5:
		h.blockSize = 144 << code
	case code <= 7:
		h.blockSize = extra(code-5) + 1
	default:
		h.blockSize = 1 << code
	}
	switch code := int(codes & 15); {
	case code < len(frameRates):
		h.rate = frameRates[code]
	case code == 12:
		h.rate = 1000 * extra(1)
	case code == 13:
		h.rate = extra(2)
	case code == 14:
		h.rate = 10 * extra(2)
	default:
		return used, false
	}
	return used, used <= len(b) && h.blockSize <= 65535
}
