package signal

// Stages of the other radices: for each p, stride transforms of numbers
// stride·rest apart, their results turned and written together.

func (st *fftStage) stage4(dst, src []complex128) {
	s, apart := st.stride, st.stride*st.rest
	for p := range st.rest {
		w, x, y := st.turn[3*p:][:3], src[s*p:], dst[4*s*p:][:4*s]
		x0, x1, x2, x3 := x[:s], x[apart:][:s], x[2*apart:][:s], x[3*apart:][:s]
		y0, y1, y2, y3 := y[:s], y[s:][:s], y[2*s:][:s], y[3*s:][:s]
		w1, w2, w3 := w[0], w[1], w[2]
		for q := range s {
			c0, c2 := x0[q]+x2[q], x0[q]-x2[q]
			c1, c3 := x1[q]+x3[q], x1[q]-x3[q]
			y0[q] = c0 + c1
			y1[q] = complex(real(c2)+imag(c3), imag(c2)-real(c3)) * w1
			y2[q] = (c0 - c1) * w2
			y3[q] = complex(real(c2)-imag(c3), imag(c2)+real(c3)) * w3
		}
	}
}

func (st *fftStage) stage2(dst, src []complex128) {
	s, apart := st.stride, st.stride*st.rest
	for p := range st.rest {
		w, x, y := st.turn[p], src[s*p:], dst[2*s*p:][:2*s]
		x0, x1 := x[:s], x[apart:][:s]
		y0, y1 := y[:s], y[s:][:s]
		for q := range s {
			a, b := x0[q], x1[q]
			y0[q] = a + b
			y1[q] = (a - b) * w
		}
	}
}

func (st *fftStage) stage3(dst, src []complex128) {
	const sin60 = 0.86602540378443864676
	s, apart := st.stride, st.stride*st.rest
	for p := range st.rest {
		w, x, y := st.turn[2*p:][:2], src[s*p:], dst[3*s*p:][:3*s]
		x0, x1, x2 := x[:s], x[apart:][:s], x[2*apart:][:s]
		y0, y1, y2 := y[:s], y[s:][:s], y[2*s:][:s]
		w1, w2 := w[0], w[1]
		for q := range s {
			sum, diff := x1[q]+x2[q], x1[q]-x2[q]
			y0[q] = x0[q] + sum
			c := complex(real(x0[q])-real(sum)/2, imag(x0[q])-imag(sum)/2)
			d := complex(sin60*imag(diff), -sin60*real(diff))
			y1[q] = (c + d) * w1
			y2[q] = (c - d) * w2
		}
	}
}

func (st *fftStage) stage5(dst, src []complex128) {
	const (
		c72, c144 = 0.30901699437494742410, -0.80901699437494742410
		s72, s144 = 0.95105651629515357212, 0.58778525229247312917
	)
	s, apart := st.stride, st.stride*st.rest
	for p := range st.rest {
		w, x, y := st.turn[4*p:][:4], src[s*p:], dst[5*s*p:][:5*s]
		x0, x1, x2, x3, x4 := x[:s], x[apart:][:s], x[2*apart:][:s], x[3*apart:][:s], x[4*apart:][:s]
		y0, y1, y2, y3, y4 := y[:s], y[s:][:s], y[2*s:][:s], y[3*s:][:s], y[4*s:][:s]
		for q := range s {
			a, t1, t4 := x0[q], x1[q]+x4[q], x1[q]-x4[q]
			t2, t3 := x2[q]+x3[q], x2[q]-x3[q]
			y0[q] = a + t1 + t2
			c := complex(real(a)+c72*real(t1)+c144*real(t2), imag(a)+c72*imag(t1)+c144*imag(t2))
			d := complex(s72*imag(t4)+s144*imag(t3), -s72*real(t4)-s144*real(t3))
			y1[q] = (c + d) * w[0]
			y4[q] = (c - d) * w[3]
			c = complex(real(a)+c144*real(t1)+c72*real(t2), imag(a)+c144*imag(t1)+c72*imag(t2))
			d = complex(s144*imag(t4)-s72*imag(t3), s72*real(t3)-s144*real(t4))
			y2[q] = (c + d) * w[1]
			y3[q] = (c - d) * w[2]
		}
	}
}

// stageAny is a stage of any radix, slowly.
func (st *fftStage) stageAny(dst, src []complex128) {
	r, s, apart := st.radix, st.stride, st.stride*st.rest
	root := make([]complex128, r)
	for j := range root {
		root[j] = unitRoot(j, r)
	}
	for p := range st.rest {
		for q := range s {
			for k := range r {
				var sum complex128
				for j := range r {
					sum += src[s*p+apart*j+q] * root[j*k%r]
				}
				if k > 0 {
					sum *= st.turn[(r-1)*p+k-1]
				}
				dst[r*s*p+s*k+q] = sum
			}
		}
	}
}
