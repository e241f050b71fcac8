package columnar

import (
	"encoding/binary"
	"math"
)

// The kinds of whole numbers a value can become.
const (
	kindBits    = 0 // bit pattern, in the order of the values
	kindDecimal = 1 // value·10^places
)

// maxPlaces is the most decimal places tried. 10^22 is the largest power of ten
// a float64 holds exactly; 15 is the most digits a decimal survives with.
const maxPlaces = 15

// exact is 2^53: whole numbers up to it are exact in a float64.
const exact = 1 << 53

// maxValueBytes bounds the plain bytes of a column of values.
const maxValueBytes = 32 + MaxRows*(8+16)

var pow10 = [maxPlaces + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// exception is a value kept with all its bits.
type exception struct {
	row  int
	bits uint64
}

// packValues returns: kind, places, order of difference, number of exceptions,
// the exceptions (rows skipped since the last one; 8 bytes), start and step
// where the order is not 0, the packed whole numbers.
func packValues(values []float64) []byte {
	whole, places, exceptions, ok := decimals(values)
	kind := byte(kindDecimal)
	if !ok {
		kind, places, exceptions = kindBits, 0, nil
		whole = patterns(values)
	}
	d := differ(whole)
	out := make([]byte, 0, 16+9*len(exceptions)+4*len(whole))
	out = append(out, kind, byte(places), byte(d.order))
	out = binary.AppendUvarint(out, uint64(len(exceptions)))
	next := 0
	for _, e := range exceptions {
		out = binary.AppendUvarint(out, uint64(e.row-next))
		out = binary.LittleEndian.AppendUint64(out, e.bits)
		next = e.row + 1
	}
	if d.order > 0 {
		out = binary.AppendUvarint(out, zigzag(d.start))
		out = binary.AppendUvarint(out, zigzag(d.step))
	}
	return packInts(out, d.rest)
}

// unpackValues appends rows values to dst.
func unpackValues(dst []float64, plain []byte, rows int) ([]float64, error) {
	r := reader{plain}
	head, err := r.take(3)
	if err != nil {
		return dst, err
	}
	kind, places, order := head[0], head[1], head[2]
	if kind > kindDecimal || places > maxPlaces || order > 2 {
		return dst, damaged("values of kind %d, %d places, order %d", kind, places, order)
	}
	exceptions, err := r.exceptions(rows)
	if err != nil {
		return dst, err
	}
	d, err := r.differences(int(order))
	if err != nil {
		return dst, err
	}
	before := len(dst)
	dst = grow(dst, rows)
	out := dst[before:]
	if err := r.ints(out, kind, pow10[places], d); err != nil {
		return dst[:before], err
	}
	for _, e := range exceptions {
		out[e.row] = math.Float64frombits(e.bits)
	}
	return dst, nil
}

// differences reads start and step, which only an order above 0 has.
func (r *reader) differences(order int) (d differences, err error) {
	d.order = order
	if order == 0 {
		return d, nil
	}
	if d.start, err = r.signed(); err != nil {
		return d, err
	}
	d.step, err = r.signed()
	return d, err
}

// grow returns s with n more elements, doubling as append does.
func grow(s []float64, n int) []float64 {
	if cap(s)-len(s) >= n {
		return s[:len(s)+n]
	}
	return append(s, make([]float64, n)...)
}

// exceptions reads the values kept aside, in order of row.
func (r *reader) exceptions(rows int) ([]exception, error) {
	n, err := r.number(rows)
	if err != nil || n == 0 {
		return nil, err
	}
	out := make([]exception, 0, n)
	row := 0
	for range n {
		skip, err := r.number(rows)
		if err != nil {
			return nil, err
		}
		row += skip
		if row >= rows {
			return nil, damaged("an exception in row %d of %d", row+1, rows)
		}
		b, err := r.take(8)
		if err != nil {
			return nil, err
		}
		out = append(out, exception{row, binary.LittleEndian.Uint64(b)})
		row++
	}
	return out, nil
}

// patterns returns the bit pattern of each value as a whole number that rises
// with the value, so that neighbours differ little.
func patterns(values []float64) []int64 {
	out := make([]int64, len(values))
	for i, v := range values {
		out[i] = orderedBits(math.Float64bits(v))
	}
	return out
}

// orderedBits turns a bit pattern into a whole number that rises with the
// value.
func orderedBits(b uint64) int64 {
	if b>>63 == 0 {
		return int64(b)
	}
	return int64(b ^ (1<<63 - 1))
}

// orderedPattern is the inverse of orderedBits.
func orderedPattern(m int64) uint64 {
	if m >= 0 {
		return uint64(m)
	}
	return uint64(m) ^ (1<<63 - 1)
}
