package signal

import "math"

const halfRoot = math.Sqrt2 / 2

// first8 is a stage of radix 8 with stride 1 that takes real and imaginary parts
// by turns.
func first8(dst []complex128, x []float64, turn []complex128) {
	m := len(dst) / 8
	s := 2 * m
	x0, x1, x2, x3 := x[:s], x[s:][:s], x[2*s:][:s], x[3*s:][:s]
	x4, x5, x6, x7 := x[4*s:][:s], x[5*s:][:s], x[6*s:][:s], x[7*s:][:s]
	for p := 0; p+1 < len(x0) && p+1 < len(x1) && p+1 < len(x2) && p+1 < len(x3) && p+1 < len(x4) && p+1 < len(x5) && p+1 < len(x6) && p+1 < len(x7) && len(dst) >= 8 && len(turn) >= 7; p += 2 {
		a0, a4 := complex(x0[p], x0[p+1]), complex(x4[p], x4[p+1])
		a1, a5 := complex(x1[p], x1[p+1]), complex(x5[p], x5[p+1])
		a2, a6 := complex(x2[p], x2[p+1]), complex(x6[p], x6[p+1])
		a3, a7 := complex(x3[p], x3[p+1]), complex(x7[p], x7[p+1])
		b0, b1, b2, b3 := a0+a4, a1+a5, a2+a6, a3+a7
		c0, c1, c2, c3 := b0+b2, b1+b3, b0-b2, b1-b3
		y, w := dst[:8], turn[:7]
		y[0] = c0 + c1
		y[4] = (c0 - c1) * w[3]
		y[2] = complex(real(c2)+imag(c3), imag(c2)-real(c3)) * w[1]
		y[6] = complex(real(c2)-imag(c3), imag(c2)+real(c3)) * w[5]
		b0, b1, b2, b3 = a0-a4, a1-a5, a2-a6, a3-a7
		b1 = complex(halfRoot*(real(b1)+imag(b1)), halfRoot*(imag(b1)-real(b1)))
		b2 = complex(imag(b2), -real(b2))
		b3 = complex(halfRoot*(imag(b3)-real(b3)), -halfRoot*(real(b3)+imag(b3)))
		c0, c1, c2, c3 = b0+b2, b1+b3, b0-b2, b1-b3
		y[1] = (c0 + c1) * w[0]
		y[5] = (c0 - c1) * w[4]
		y[3] = complex(real(c2)+imag(c3), imag(c2)-real(c3)) * w[2]
		y[7] = complex(real(c2)-imag(c3), imag(c2)+real(c3)) * w[6]
		dst, turn = dst[8:], turn[7:]
	}
}

func (st *fftStage) stage8(dst, src []complex128) {
	s, apart := st.stride, st.stride*st.rest
	plain8(dst[:8*s], src, s, apart)
	for p := 1; p < st.rest; p++ {
		turned8(dst[8*s*p:][:8*s], src[s*p:], s, apart, st.turn[7*p:][:7])
	}
}

// plain8 is s transforms of 8 points: of x apart from one another into y.
func plain8(y, x []complex128, s, apart int) {
	x0, x1, x2, x3 := x[:s], x[apart:][:s], x[2*apart:][:s], x[3*apart:][:s]
	x4, x5, x6, x7 := x[4*apart:][:s], x[5*apart:][:s], x[6*apart:][:s], x[7*apart:][:s]
	y0, y1, y2, y3 := y[:s], y[s:][:s], y[2*s:][:s], y[3*s:][:s]
	y4, y5, y6, y7 := y[4*s:][:s], y[5*s:][:s], y[6*s:][:s], y[7*s:][:s]
	for q := range s {
		a0, a4 := x0[q], x4[q]
		a1, a5 := x1[q], x5[q]
		a2, a6 := x2[q], x6[q]
		a3, a7 := x3[q], x7[q]
		b0, b1, b2, b3 := a0+a4, a1+a5, a2+a6, a3+a7
		c0, c1, c2, c3 := b0+b2, b1+b3, b0-b2, b1-b3
		y0[q] = c0 + c1
		y4[q] = c0 - c1
		y2[q] = complex(real(c2)+imag(c3), imag(c2)-real(c3))
		y6[q] = complex(real(c2)-imag(c3), imag(c2)+real(c3))
		b0, b1, b2, b3 = a0-a4, a1-a5, a2-a6, a3-a7
		b1 = complex(halfRoot*(real(b1)+imag(b1)), halfRoot*(imag(b1)-real(b1)))
		b2 = complex(imag(b2), -real(b2))
		b3 = complex(halfRoot*(imag(b3)-real(b3)), -halfRoot*(real(b3)+imag(b3)))
		c0, c1, c2, c3 = b0+b2, b1+b3, b0-b2, b1-b3
		y1[q] = c0 + c1
		y5[q] = c0 - c1
		y3[q] = complex(real(c2)+imag(c3), imag(c2)-real(c3))
		y7[q] = complex(real(c2)-imag(c3), imag(c2)+real(c3))
	}
}

// turned8 is plain8 with its results turned.
func turned8(y, x []complex128, s, apart int, w []complex128) {
	w = w[:7]
	x0, x1, x2, x3 := x[:s], x[apart:][:s], x[2*apart:][:s], x[3*apart:][:s]
	x4, x5, x6, x7 := x[4*apart:][:s], x[5*apart:][:s], x[6*apart:][:s], x[7*apart:][:s]
	y0, y1, y2, y3 := y[:s], y[s:][:s], y[2*s:][:s], y[3*s:][:s]
	y4, y5, y6, y7 := y[4*s:][:s], y[5*s:][:s], y[6*s:][:s], y[7*s:][:s]
	for q := range s {
		a0, a4 := x0[q], x4[q]
		a1, a5 := x1[q], x5[q]
		a2, a6 := x2[q], x6[q]
		a3, a7 := x3[q], x7[q]
		b0, b1, b2, b3 := a0+a4, a1+a5, a2+a6, a3+a7
		c0, c1, c2, c3 := b0+b2, b1+b3, b0-b2, b1-b3
		y0[q] = c0 + c1
		y4[q] = (c0 - c1) * w[3]
		y2[q] = complex(real(c2)+imag(c3), imag(c2)-real(c3)) * w[1]
		y6[q] = complex(real(c2)-imag(c3), imag(c2)+real(c3)) * w[5]
		b0, b1, b2, b3 = a0-a4, a1-a5, a2-a6, a3-a7
		b1 = complex(halfRoot*(real(b1)+imag(b1)), halfRoot*(imag(b1)-real(b1)))
		b2 = complex(imag(b2), -real(b2))
		b3 = complex(halfRoot*(imag(b3)-real(b3)), -halfRoot*(real(b3)+imag(b3)))
		c0, c1, c2, c3 = b0+b2, b1+b3, b0-b2, b1-b3
		y1[q] = (c0 + c1) * w[0]
		y5[q] = (c0 - c1) * w[4]
		y3[q] = complex(real(c2)+imag(c3), imag(c2)-real(c3)) * w[2]
		y7[q] = complex(real(c2)-imag(c3), imag(c2)+real(c3)) * w[6]
	}
}
