package columnar

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// group is how many whole numbers share one smallest and one width.
const group = 128

// differences is a column of whole numbers as differences of an order. The
// first number and the first difference stand apart, as start and step: they
// are much larger than what follows. In their places in rest stands what costs
// nothing.
type differences struct {
	order       int
	start, step int64
	rest        []int64
}

// differ returns the numbers themselves, their first or their second
// differences, whichever packs shortest. Differences wrap around, so that
// every order is exact. It reuses whole.
func differ(whole []int64) differences {
	d := differences{rest: whole}
	best := packedBits(whole)
	if len(whole) < 3 || best == 0 {
		return d
	}
	start, step := whole[0], whole[1]-whole[0]
	kept := 0
	for k := 1; k <= 2; k++ {
		difference(whole, k)
		if size := packedBits(whole[k:]); size < best {
			best, kept = size, k
		}
	}
	for k := 2; k > kept; k-- {
		undo(whole, k)
	}
	if kept > 0 {
		d.start = start
		whole[0] = whole[kept]
	}
	if kept > 1 {
		d.step = step
		whole[1] = whole[2]
	}
	d.order = kept
	return d
}

// difference replaces each number from index k on by its difference from the
// one before.
func difference(whole []int64, k int) {
	for i := len(whole) - 1; i >= k; i-- {
		whole[i] -= whole[i-1]
	}
}

// undo is the inverse of difference.
func undo(whole []int64, k int) {
	for i := k; i < len(whole); i++ {
		whole[i] += whole[i-1]
	}
}

// packedBits returns how many bits the numbers take, without their headers.
func packedBits(whole []int64) int {
	total := 0
	for len(whole) > 0 {
		n := min(group, len(whole))
		low, width := frame(whole[:n])
		total += n * width
		if width == 0 {
			total += bits.Len64(zigzag(low))
		} else {
			total += 8
		}
		whole = whole[n:]
	}
	return total
}

// frame returns the smallest number and the bits that the rest need above it.
func frame(whole []int64) (low int64, width int) {
	low = whole[0]
	high := low
	for _, v := range whole {
		low = min(low, v)
		high = max(high, v)
	}
	return low, bits.Len64(uint64(high) - uint64(low))
}

func zigzag(v int64) uint64   { return uint64(v)<<1 ^ uint64(v>>63) }
func unzigzag(u uint64) int64 { return int64(u>>1) ^ -int64(u&1) }

// packInts appends the numbers in groups: width, smallest, then the rest.
func packInts(out []byte, whole []int64) []byte {
	for len(whole) > 0 {
		n := min(group, len(whole))
		low, width := frame(whole[:n])
		out = append(out, byte(width))
		out = binary.AppendUvarint(out, zigzag(low))
		out = packGroup(out, whole[:n], low, width)
		whole = whole[n:]
	}
	return out
}

// packGroup appends width bits for each number above low, lowest bit first.
func packGroup(out []byte, whole []int64, low int64, width int) []byte {
	if width == 0 {
		return out
	}
	var acc uint64
	used := 0
	for _, v := range whole {
		u := uint64(v) - uint64(low)
		acc |= u << used
		used += width
		if used >= 64 {
			out = binary.LittleEndian.AppendUint64(out, acc)
			used -= 64
			acc = u >> (width - used) // a shift of 64 or more gives 0
		}
	}
	for ; used > 0; used -= 8 {
		out = append(out, byte(acc))
		acc >>= 8
	}
	return out
}

// ints unpacks numbers, undoes their differences and fills out with the values
// they stand for.
func (r *reader) ints(out []float64, kind byte, power float64, d differences) error {
	var buf [group]int64
	sum := integral{order: d.order, value: d.start, slope: d.step}
	for len(out) > 0 {
		n := min(group, len(out))
		if err := r.group(buf[:n]); err != nil {
			return err
		}
		sum.undo(buf[:n])
		values(out[:n], buf[:n], kind, power)
		out = out[n:]
	}
	if len(r.rest) != 0 {
		return damaged("%d bytes of values too many", len(r.rest))
	}
	return nil
}

// integral carries the sums of differences from group to group.
type integral struct {
	order, row   int
	value, slope int64
}

// undo turns the next differences into whole numbers.
func (s *integral) undo(whole []int64) {
	i := 0
	for ; i < len(whole) && s.row+i < s.order; i++ {
		whole[i] = s.value + int64(s.row+i)*s.slope // start, and start + step
	}
	if s.order == 2 && s.row == 0 && len(whole) > 1 {
		s.value = whole[1]
	}
	s.row += i
	switch s.order {
	case 1:
		v := s.value
		for ; i < len(whole); i++ {
			v += whole[i]
			whole[i] = v
		}
		s.value = v
	case 2:
		v, slope := s.value, s.slope
		for ; i < len(whole); i++ {
			slope += whole[i]
			v += slope
			whole[i] = v
		}
		s.value, s.slope = v, slope
	}
}

// group unpacks one group of numbers.
func (r *reader) group(whole []int64) error {
	head, err := r.take(1)
	if err != nil {
		return err
	}
	width := int(head[0])
	if width > 64 {
		return damaged("a group of width %d", width)
	}
	low, err := r.signed()
	if err != nil {
		return err
	}
	packed, err := r.take((width*len(whole) + 7) / 8)
	if err != nil {
		return err
	}
	unpackGroup(whole, packed, low, width)
	return nil
}

// unpackGroup is the inverse of packGroup.
func unpackGroup(whole []int64, packed []byte, low int64, width int) {
	mask := uint64(math.MaxUint64)
	if width < 64 {
		mask = 1<<width - 1
	}
	i := 0
	if width <= 56 { // eight bytes at any bit hold a whole number
		for ; i < len(whole); i++ {
			bit := i * width
			at := bit >> 3
			if at+8 > len(packed) {
				break
			}
			whole[i] = low + int64(binary.LittleEndian.Uint64(packed[at:])>>(bit&7)&mask)
		}
	}
	for ; i < len(whole); i++ {
		whole[i] = low + int64(bitsAt(packed, i*width)&mask)
	}
}

// bitsAt returns up to 64 bits from a bit position, zeros past the end.
func bitsAt(packed []byte, bit int) uint64 {
	var tail [16]byte
	if at := bit >> 3; at < len(packed) {
		copy(tail[:], packed[at:])
	}
	low := binary.LittleEndian.Uint64(tail[:]) >> (bit & 7)
	return low | binary.LittleEndian.Uint64(tail[8:])<<(64-bit&7)
}

// values turns whole numbers into the values they stand for.
func values(out []float64, whole []int64, kind byte, power float64) {
	if kind == kindBits {
		for i, m := range whole {
			out[i] = math.Float64frombits(orderedPattern(m))
		}
		return
	}
	for i, m := range whole {
		out[i] = float64(m) / power
	}
}
