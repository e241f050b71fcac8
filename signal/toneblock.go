package signal

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// blockFitter fits one tone to a block of samples: a complex envelope that is a
// parabola over the block, on a phase that is one too, so that a drifting or
// fading tone is fitted as such and does not spread into what is left. The
// weight is a raised cosine squared, which keeps other lines out of the fit.
type blockFitter struct {
	rate   float64
	n      int
	w2     []float64    // weight of each sample
	chunk  int          // samples in each chunk of the base band
	sumW   []float64    // weight in each chunk
	tc     []float64    // time of each chunk from the middle of the block, in blocks
	gram   [5]float64   // sums of w t^k
	base   []complex128 // base band
	ur, ui []float64    // the phasor
	search *fourier.CmplxFFT
	pad    []complex128
}

// blockFit is a tone in one block. Times are in seconds from its middle.
type blockFit struct {
	hz, rate float64       // frequency at the middle, and its slope in Hz/s
	c        [3]complex128 // envelope c0 + c1 x + c2 x², x in blocks from the middle
	power    float64       // mean over the block
}

// tonePad is the length of the transform that looks for a tone in base band.
const tonePad = 1024

// toneChunks is the number of base-band samples in a block.
const toneChunks = 200

func newBlockFitter(rate float64, n int, w []float64) *blockFitter {
	t := &blockFitter{rate: rate, n: n, w2: make([]float64, n), ur: make([]float64, n), ui: make([]float64, n)}
	for i, v := range w {
		t.w2[i] = v * v
	}
	t.chunk = max(1, n/toneChunks)
	chunks := (n + t.chunk - 1) / t.chunk
	t.sumW, t.tc, t.base = make([]float64, chunks), make([]float64, chunks), make([]complex128, chunks)
	for c := range chunks {
		sum, mean := 0.0, 0.0
		for i := c * t.chunk; i < min(n, (c+1)*t.chunk); i++ {
			sum += t.w2[i]
			mean += float64(i)
		}
		m := float64(min(n, (c+1)*t.chunk) - c*t.chunk)
		t.sumW[c], t.tc[c] = sum, (mean/m-float64(n)/2)/float64(n)
		p := sum
		for k := range t.gram {
			t.gram[k] += p
			p *= t.tc[c]
		}
	}
	t.search = fourier.NewCmplxFFT(tonePad)
	t.pad = make([]complex128, tonePad)
	return t
}

// phasor fills ur, ui with exp(j(2π hz t + π slope t²)), t from the middle.
func (t *blockFitter) phasor(hz, slope float64) {
	// Each turn waits for the one before: two halves go side by side.
	half := t.n / 2
	a, b := t.chirp(hz, slope, 0), t.chirp(hz, slope, half)
	ur, ui := t.ur[:half], t.ui[:half]
	vr, vi := t.ur[half:][:half], t.ui[half:][:half]
	for i := range ur {
		ur[i], ui[i] = a.ur, a.ui
		vr[i], vi[i] = b.ur, b.ui
		a.ur, a.ui = a.ur*a.dr-a.ui*a.di, a.ur*a.di+a.ui*a.dr
		b.ur, b.ui = b.ur*b.dr-b.ui*b.di, b.ur*b.di+b.ui*b.dr
		a.dr, a.di = a.dr*a.qr-a.di*a.qi, a.dr*a.qi+a.di*a.qr
		b.dr, b.di = b.dr*b.qr-b.di*b.qi, b.dr*b.qi+b.di*b.qr
	}
	if t.n%2 != 0 {
		t.ur[t.n-1], t.ui[t.n-1] = b.ur, b.ui
	}
}

// chirp is a phasor, its turn to the next sample, and the turn of that.
type chirp struct{ ur, ui, dr, di, qr, qi float64 }

func (t *blockFitter) chirp(hz, slope float64, from int) chirp {
	t0, dt := (float64(from)-float64(t.n)/2)/t.rate, 1/t.rate
	u := cmplx.Rect(1, 2*math.Pi*(hz*t0+slope*t0*t0/2))
	d := cmplx.Rect(1, 2*math.Pi*(hz*dt+slope*(t0*dt+dt*dt/2)))
	q := cmplx.Rect(1, 2*math.Pi*slope*dt*dt)
	return chirp{real(u), imag(u), real(d), imag(d), real(q), imag(q)}
}

// baseBand fills base with 2x·conj(phasor), averaged over chunks.
func (t *blockFitter) baseBand(x []float64) {
	for c := range t.base {
		var re, im float64
		for i := c * t.chunk; i < min(t.n, (c+1)*t.chunk); i++ {
			v := x[i] * t.w2[i]
			re += v * t.ur[i]
			im -= v * t.ui[i]
		}
		t.base[c] = 0
		if t.sumW[c] > 0 {
			t.base[c] = complex(2*re/t.sumW[c], 2*im/t.sumW[c])
		}
	}
}

// offset is how far from the phasor's frequency the strongest line within span
// hertz lies.
func (t *blockFitter) offset(span float64) float64 {
	for i := range t.pad {
		t.pad[i] = 0
	}
	for c, y := range t.base {
		t.pad[c] = y * complex(math.Sqrt(t.sumW[c]), 0)
	}
	f := t.search.Coefficients(nil, t.pad)
	df := t.rate / float64(t.chunk) / tonePad
	best, at := -1.0, 0
	reach := min(int(span/df), tonePad/2-2)
	for k := -reach; k <= reach; k++ {
		if p := cmplx.Abs(f[(k+tonePad)%tonePad]); p > best {
			best, at = p, k
		}
	}
	return float64(at) * df
}

// fit fits a tone near hz. Span is how far it may lie from there, in hertz; 0
// leaves the search out.
func (t *blockFitter) fit(x []float64, hz, slope, span float64) blockFit {
	f := blockFit{hz: hz, rate: slope}
	block := float64(t.n) / t.rate
	if span > 0 {
		t.phasor(f.hz, f.rate)
		t.baseBand(x)
		f.hz += t.offset(span)
	}
	for range 5 {
		t.phasor(f.hz, f.rate)
		t.baseBand(x)
		f.c = t.parabola()
		f.power = t.meanPower(f.c)
		if f.c[0] == 0 {
			return f
		}
		a := f.c[1] / f.c[0]
		b := f.c[2]/f.c[0] - a*a/2
		df, dr := imag(a)/(2*math.Pi*block), 2*imag(b)/(2*math.Pi*block*block)
		if math.Abs(df)*block < 1e-3 && math.Abs(dr)*block*block < 1e-2 {
			return f
		}
		df = math.Max(-0.5/block, math.Min(0.5/block, df))
		dr = math.Max(-1/block/block, math.Min(1/block/block, dr))
		f.hz += df
		f.rate += dr
		if math.Abs(f.rate)*block*block > 4 || !(f.hz > 0) { // ran away: no tone here
			f.hz, f.rate = hz, slope
			t.phasor(f.hz, f.rate)
			t.baseBand(x)
			f.c = t.parabola()
			f.power = t.meanPower(f.c)
			return f
		}
	}
	t.phasor(f.hz, f.rate)
	t.baseBand(x)
	f.c = t.parabola()
	f.power = t.meanPower(f.c)
	return f
}

// parabola is the weighted least-squares parabola through the base band.
func (t *blockFitter) parabola() [3]complex128 {
	var r [3]complex128
	for c, y := range t.base {
		p := complex(t.sumW[c], 0) * y
		for k := range r {
			r[k] += p
			p *= complex(t.tc[c], 0)
		}
	}
	// The odd sums vanish by symmetry but for rounding of the chunks; keep them.
	g := t.gram
	m := [3][3]float64{{g[0], g[1], g[2]}, {g[1], g[2], g[3]}, {g[2], g[3], g[4]}}
	return solveThree(m, r)
}

// solveThree solves three equations by Cramer's rule; zero if they are singular.
func solveThree(m [3][3]float64, r [3]complex128) [3]complex128 {
	cof := func(i, j int) float64 {
		a, b, c, d := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*cof(0, 0) + m[0][1]*cof(0, 1) + m[0][2]*cof(0, 2)
	var out [3]complex128
	if det == 0 {
		return out
	}
	for j := range 3 {
		for i := range 3 {
			out[j] += r[i] * complex(cof(i, j)/det, 0)
		}
	}
	return out
}

func (t *blockFitter) meanPower(c [3]complex128) float64 {
	sq := func(a, b complex128) float64 { return real(a * cmplx.Conj(b)) }
	g := t.gram
	p := sq(c[0], c[0])*g[0] + 2*sq(c[0], c[1])*g[1] + (sq(c[1], c[1])+2*sq(c[0], c[2]))*g[2] +
		2*sq(c[1], c[2])*g[3] + sq(c[2], c[2])*g[4]
	return p / g[0] / 2
}

// noiseShare is the noise power that the fit takes for tone, per density times
// hertz: the mean of ½abs(p)² where the samples are noise of density 1 and the
// block lasts 1 s.
func (t *blockFitter) noiseShare() float64 {
	var g, h [3][3]float64
	for i, w := range t.w2 {
		x := (float64(i) - float64(t.n)/2) / float64(t.n)
		p := [3]float64{1, x, x * x}
		for a := range p {
			for b := range p {
				g[a][b] += w * p[a] * p[b]
				h[a][b] += w * w * p[a] * p[b]
			}
		}
	}
	trace := 0.0
	for b := range 3 {
		col := solveThree(g, [3]complex128{complex(h[0][b], 0), complex(h[1][b], 0), complex(h[2][b], 0)})
		trace += real(col[b])
	}
	// Noise of one-sided density 1 has variance rate/2 a sample, 2x·phasor 2·rate.
	return trace / g[0][0] * float64(t.n)
}

// subtract writes x less the fitted tone into dst; the phasor must be that of
// the fit, as it is after fit.
func (t *blockFitter) subtract(dst, x []float64, f blockFit) {
	n := float64(t.n)
	c0r, c0i, c1r, c1i, c2r, c2i := real(f.c[0]), imag(f.c[0]), real(f.c[1]), imag(f.c[1]), real(f.c[2]), imag(f.c[2])
	for i, v := range x {
		s := (float64(i) - n/2) / n
		pr := c0r + s*(c1r+s*c2r)
		pi := c0i + s*(c1i+s*c2i)
		dst[i] = v - (pr*t.ur[i] - pi*t.ui[i])
	}
}
