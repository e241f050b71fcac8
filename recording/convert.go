package recording

import (
	"encoding/binary"
	"math"
)

// converter turns little-endian bytes into samples, full scale ±1. It returns
// the index of the first sample that cannot be trusted, or −1.
type converter func(dst []float64, src []byte) (bad int)

// integers converts samples that fill containers of so many bits.
func integers(bits int) converter {
	switch bits {
	case 8:
		return unsigned8
	case 16:
		return signed16
	case 24:
		return signed24
	case 32:
		return signed32
	}
	return func(dst []float64, src []byte) int { return wide(dst, src, bits/8) }
}

// unsigned8 reads samples of one byte, where 128 is zero.
func unsigned8(dst []float64, src []byte) int {
	src = src[:len(dst)]
	for i := range dst {
		dst[i] = float64(int(src[i])-128) * (1.0 / 128)
	}
	return -1
}

// signed16 takes four samples at a time: it is what most recordings are in.
func signed16(dst []float64, src []byte) int {
	const scale = 1.0 / (1 << 15)
	src = src[:2*len(dst)]
	for len(dst) >= 4 && len(src) >= 8 {
		v, d := binary.LittleEndian.Uint64(src), (*[4]float64)(dst)
		d[0] = float64(int16(v)) * scale
		d[1] = float64(int16(v>>16)) * scale
		d[2] = float64(int16(v>>32)) * scale
		d[3] = float64(int64(v)>>48) * scale
		dst, src = dst[4:], src[8:]
	}
	for i := range dst {
		dst[i] = float64(int16(binary.LittleEndian.Uint16(src[2*i:]))) * scale
	}
	return -1
}

func signed24(dst []float64, src []byte) int {
	for i := range dst {
		b := (*[3]byte)(src[3*i:])
		dst[i] = float64(int32(b[0])<<8|int32(b[1])<<16|int32(b[2])<<24) * (1.0 / (1 << 31))
	}
	return -1
}

func signed32(dst []float64, src []byte) int {
	for i := range dst {
		dst[i] = float64(int32(binary.LittleEndian.Uint32(src[4*i:]))) * (1.0 / (1 << 31))
	}
	return -1
}

// wide reads samples of up to eight bytes. Beyond 53 bits they are rounded.
func wide(dst []float64, src []byte, size int) int {
	for i := range dst {
		dst[i] = float64(int64(leftJustified(src[i*size:i*size+size]))) * (1.0 / (1 << 63))
	}
	return -1
}

// leftJustified puts a little-endian number at the upper end of 64 bits.
func leftJustified(b []byte) uint64 {
	var v uint64
	for _, x := range b {
		v = v>>8 | uint64(x)<<56
	}
	return v
}

// loose converts samples of which not all bits are valid, and gathers those
// that should be zero.
func (w *wav) loose(dst []float64, src []byte) int {
	size := w.container
	mask := ^uint64(0) >> w.info.Bits
	for i := range dst {
		v := leftJustified(src[i*size : i*size+size])
		w.low |= v & mask
		if size == 1 {
			v ^= 1 << 63 // unsigned
		}
		dst[i] = float64(int64(v)) * (1.0 / (1 << 63))
	}
	return -1
}

func (w *wav) float32s(dst []float64, src []byte) int {
	peak := w.peak
	for i := range dst {
		x := float64(math.Float32frombits(binary.LittleEndian.Uint32(src[4*i:])))
		dst[i] = x
		if !(math.Abs(x) <= peak) { // also for what is no number
			if peak = math.Abs(x); !(peak <= absurd) {
				return i
			}
		}
	}
	w.peak = peak
	return -1
}

func (w *wav) float64s(dst []float64, src []byte) int {
	peak := w.peak
	for i := range dst {
		x := math.Float64frombits(binary.LittleEndian.Uint64(src[8*i:]))
		dst[i] = x
		if !(math.Abs(x) <= peak) {
			if peak = math.Abs(x); !(peak <= absurd) {
				return i
			}
		}
	}
	w.peak = peak
	return -1
}

// absurd is a multiple of full scale that no sound has: integers of 32 bits
// put into a floating-point file without scaling stay below it, random bytes
// do not.
const absurd = 1 << 33

// reverse turns the bytes of every sample round.
func reverse(b []byte, size int) {
	for ; len(b) >= size; b = b[size:] {
		for i, j := 0, size-1; i < j; i, j = i+1, j-1 {
			b[i], b[j] = b[j], b[i]
		}
	}
}
