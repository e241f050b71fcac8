package signal

import "math"

// bitCount finds how many bits the samples use: the finest step that all are
// multiples of, full scale being 2 to the power of bits less 1.
type bitCount struct {
	all   uint64 // the samples as 32-bit integers, ored together
	float bool   // a sample is no 32-bit integer
	dc    float64
	peak  float64
	n     int64
	bad   int64 // samples that are not finite
}

const bitsScale = 1 << 31

func (b *bitCount) add(x []float64) {
	for _, v := range x {
		b.n++
		if v-v != 0 {
			b.bad++
			continue
		}
		b.dc += v
		if a := math.Abs(v); a > b.peak {
			b.peak = a
		}
		if b.float {
			continue
		}
		s := v * bitsScale
		i := int64(s)
		if float64(i) != s || i > 1<<52 || i < -1<<52 {
			b.float = true
			continue
		}
		b.all |= uint64(i)
	}
}

// bits is the number of bits used: 32 where samples are finer than that, 0
// where all are zero.
func (b *bitCount) bits() int {
	switch {
	case b.float:
		return 32
	case b.all == 0:
		return 0
	}
	n := 32
	for s := b.all; s&1 == 0 && n > 1; s >>= 1 {
		n--
	}
	return n
}

// step is the finest step.
func (b *bitCount) step() float64 {
	n := b.bits()
	if n == 0 {
		return 0
	}
	return math.Pow(2, float64(1-n))
}
