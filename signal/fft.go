package signal

import "math"

// realFFT is the discrete Fourier transform of real blocks of one length, the
// sum of x[t]·exp(−2πikt/n) for k from 0 to n/2. It is fast where n has no prime
// factors but 2, 3 and 5; a block of even length is transformed as one of half
// as many complex numbers (J. W. Cooley, P. A. W. Lewis and P. D. Welch, J. Sound
// Vib. 12 (1970) 315). It keeps work space: one goroutine at a time.
type realFFT struct {
	n      int
	half   *complexFFT  // of n/2 points, or of n where n is odd
	turn   []complex128 // exp(−2πik/n), k to n/4, where n is even
	padded []float64    // where n is odd: the block with imaginary parts of 0
}

func newRealFFT(n int) *realFFT {
	n = max(1, n)
	if n%2 != 0 {
		return &realFFT{n: n, half: newComplexFFT(n), padded: make([]float64, 2*n)}
	}
	f := &realFFT{n: n, half: newComplexFFT(n / 2), turn: make([]complex128, n/4+1)}
	for k := range f.turn {
		f.turn[k] = unitRoot(k, n)
	}
	return f
}

// unitRoot is exp(−2πik/n).
func unitRoot(k, n int) complex128 {
	s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
	return complex(c, -s)
}

// Len is the length of the blocks.
func (f *realFFT) Len() int { return f.n }

// Coefficients writes the n/2 + 1 coefficients of x, n samples, to dst, which is
// made where it is nil, and returns it.
func (f *realFFT) Coefficients(dst []complex128, x []float64) []complex128 {
	if dst == nil {
		dst = make([]complex128, f.n/2+1)
	}
	if f.padded != nil {
		for i, v := range x[:f.n] {
			f.padded[2*i] = v
		}
		copy(dst, f.half.transform(f.padded)[:f.n/2+1])
		return dst
	}
	z := f.half.transform(x[:f.n])
	m := len(z)
	dst = dst[:m+1]
	dst[0], dst[m] = complex(real(z[0])+imag(z[0]), 0), complex(real(z[0])-imag(z[0]), 0)
	for k := 1; k < len(f.turn) && k <= m-k; k++ {
		even, odd := split(z[k], z[m-k], f.turn[k])
		dst[k] = even + odd
		dst[m-k] = complex(real(even)-real(odd), imag(odd)-imag(even))
	}
	return dst
}

// addPower adds the squared magnitudes of the coefficients of x to sum.
func (f *realFFT) addPower(sum, x []float64) {
	if f.padded != nil {
		for k, c := range f.Coefficients(nil, x) {
			sum[k] += squared(c)
		}
		return
	}
	z := f.half.transform(x[:f.n])
	m := len(z)
	sum = sum[:m+1]
	a, b := real(z[0])+imag(z[0]), real(z[0])-imag(z[0])
	sum[0] += a * a
	sum[m] += b * b
	for k := 1; k < len(f.turn) && k <= m-k; k++ {
		even, odd := split(z[k], z[m-k], f.turn[k])
		sum[k] += squared(even + odd)
		if k != m-k {
			sum[m-k] += squared(even - odd)
		}
	}
}

// split is the shares that the samples of even and odd place have in coefficient
// k, by coefficients k and m−k of the transform of both as one complex series.
func split(a, b, turn complex128) (even, odd complex128) {
	even = complex((real(a)+real(b))/2, (imag(a)-imag(b))/2)
	// −i/2 times the difference
	odd = complex((imag(a)+imag(b))/2, (real(b)-real(a))/2)
	return even, odd * turn
}

func squared(c complex128) float64 { return real(c)*real(c) + imag(c)*imag(c) }

// complexFFT transforms n complex numbers by Stockham's way, which sorts as it
// goes: each stage reads one of two buffers and writes the other, in order (W. T.
// Cochran et al., Proc. IEEE 55 (1967) 1664).
type complexFFT struct {
	n      int
	stages []fftStage
	a, b   []complex128
}

// fftStage does radix-point transforms of numbers stride·rest apart.
type fftStage struct {
	radix  int
	rest   int          // length of the transforms that are left after it
	stride int          // product of the radices before
	turn   []complex128 // radix−1 of each of rest
}

func newComplexFFT(n int) *complexFFT {
	f := &complexFFT{n: n, a: make([]complex128, n), b: make([]complex128, n)}
	left, stride := n, 1
	for left > 1 {
		r := nextRadix(left)
		s := fftStage{radix: r, rest: left / r, stride: stride}
		for p := range s.rest {
			for j := 1; j < r; j++ {
				s.turn = append(s.turn, unitRoot(p*j%left, left))
			}
		}
		f.stages = append(f.stages, s)
		left, stride = left/r, stride*r
	}
	return f
}

// nextRadix is the radix of the next stage for what is left of the length; that
// of a prime above 5 is slow.
func nextRadix(left int) int {
	for _, r := range [...]int{8, 4, 2, 5, 3} {
		if left%r == 0 {
			return r
		}
	}
	r := 7
	for left%r != 0 {
		r += 2
	}
	return r
}

// transform takes real and imaginary parts by turns and returns the
// coefficients, which stand until the next call.
func (f *complexFFT) transform(x []float64) []complex128 {
	src, dst := f.a, f.b
	stages := f.stages
	switch {
	case len(stages) > 0 && stages[0].radix == 8:
		first8(src, x, stages[0].turn)
		stages = stages[1:]
	default:
		for i := range src {
			src[i] = complex(x[2*i], x[2*i+1])
		}
	}
	return run(stages, src, dst)
}

// again transforms what the caller wrote to f.a.
func (f *complexFFT) again() []complex128 { return run(f.stages, f.a, f.b) }

// run goes through stages and returns the buffer that holds the result.
func run(stages []fftStage, src, dst []complex128) []complex128 {
	for i := range stages {
		s := &stages[i]
		switch s.radix {
		case 8:
			s.stage8(dst, src)
		case 5:
			s.stage5(dst, src)
		case 4:
			s.stage4(dst, src)
		case 3:
			s.stage3(dst, src)
		case 2:
			s.stage2(dst, src)
		default:
			s.stageAny(dst, src)
		}
		src, dst = dst, src
	}
	return src
}
