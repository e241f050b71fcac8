package stability

import (
	"math"
	"math/bits"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
)

// wuBasis is what makes refitting cheap. On a given set of times all curves
// "constant + line + exponentials with time constants from tauLo to tauHi" lie,
// to rounding, in a space of some 30 dimensions. The basis holds orthonormal
// columns of that space; a record enters the fit only through its coordinates
// there, which lose nothing: what is orthogonal to the space is the same for
// every curve. Coordinates of an exponential are a smooth function of u = ln tau and
// are kept as Chebyshev series, so a step of the fit costs microseconds
// whatever the length of the record.
//
// Column 0 spans constants, column 1 what a line adds; to project a vector off
// constant (and line) is to leave its first one (two) coordinates out.
type wuBasis struct {
	t       []float64
	t0      float64
	mid     float64 // the line column is (t − mid)/half
	half    float64
	spacing float64 // median
	even    bool
	lo, hi  float64 // range of u
	r       int
	q       []float64 // len(t) rows of r
	cheb    []float64 // wuNodes rows of r
	one     float64   // constant column: (one, 0, 0, ..)
	line    [2]float64
	grid    []wuGridPoint
}

// wuGridPoint is an exponential of the grid that searches start from.
type wuGridPoint struct {
	u float64
	c []float64
}

const wuGridPoints = 25

const (
	// wuNodes Chebyshev nodes over ln(wuTauRange·wuTauHi) = 8.3: exp(−t/tau) is
	// bounded for |Im u| < π/2, so the series falls as 1.45^−k, 2e-12 at 72.
	wuNodes    = 72
	wuTauRange = 2000.0 // record length over the shortest time constant
	wuTauHi    = 2.0    // longest time constant over record length
	wuRankTol  = 3e-12
)

func newWuBasis(t []float64) *wuBasis {
	n := len(t)
	span := t[n-1] - t[0]
	b := &wuBasis{t: t, t0: t[0], mid: t[0] + span/2, half: span / 2}
	b.spacing, b.even = wuSpacing(t)
	b.lo = math.Log(math.Max(b.spacing, span/wuTauRange))
	b.hi = math.Log(wuTauHi * span)
	cols, coords := b.orthonormal()
	b.r = len(cols)
	b.q = wuRows(cols, n)
	b.cheb = wuChebyshev(coords, b.r)
	d := make([]float64, b.r)
	for i := range wuGridPoints {
		g := wuGridPoint{b.lo + (b.hi-b.lo)*(float64(i)+0.5)/wuGridPoints, make([]float64, b.r)}
		b.coordinates(g.u, g.c, d)
		b.grid = append(b.grid, g)
	}
	return b
}

// wuSpacing returns the median spacing and whether all are equal to a billionth.
func wuSpacing(t []float64) (float64, bool) {
	d := make([]float64, 0, len(t)-1)
	for i := 1; i < len(t); i++ {
		if t[i] > t[i-1] {
			d = append(d, t[i]-t[i-1])
		}
	}
	mean := (t[len(t)-1] - t[0]) / float64(len(t)-1)
	even := true
	for i := range t {
		if math.Abs(t[i]-t[0]-float64(i)*mean) > 1e-9*mean*float64(len(t)) || i > 0 && t[i] == t[i-1] {
			even = false
			break
		}
	}
	if even {
		return mean, true
	}
	return wuMedian(d), false
}

// orthonormal returns the orthonormal columns and, for each node, its
// coordinates on the columns known when it was reached (the rest are zero).
func (b *wuBasis) orthonormal() (cols, coords [][]float64) {
	n := len(b.t)
	one, line := make([]float64, n), make([]float64, n)
	for i, t := range b.t {
		one[i], line[i] = 1, (t-b.mid)/b.half
	}
	cols, c := wuExtend(cols, one)
	b.one = c[0]
	cols, c = wuExtend(cols, line)
	copy(b.line[:], c)
	coords = make([][]float64, wuNodes)
	for _, k := range wuCoarseFirst(wuNodes) {
		col := make([]float64, n)
		b.exponential(b.node(k), col)
		cols, coords[k] = wuExtend(cols, col)
	}
	return cols, coords
}

// node returns u at Chebyshev node k.
func (b *wuBasis) node(k int) float64 {
	x := math.Cos(math.Pi * (float64(k) + 0.5) / wuNodes)
	return b.lo + (b.hi-b.lo)*(x+1)/2
}

// wuExtend takes v off the columns (twice, for orthogonality to rounding),
// adds the rest as a new column if it is not rounding alone, and returns the
// columns and v's coordinates on them. v is used up.
func wuExtend(cols [][]float64, v []float64) ([][]float64, []float64) {
	norm := wuNorm(v)
	c := make([]float64, len(cols), len(cols)+1)
	wuDeflate(cols, v, c)
	rest := wuNorm(v)
	if rest <= wuRankTol*norm || len(cols) >= len(v) {
		return cols, c
	}
	wuDeflate(cols, v, c)
	rest = wuNorm(v)
	for i := range v {
		v[i] /= rest
	}
	return append(cols, v), append(c, rest)
}

func wuDeflate(cols [][]float64, v, c []float64) {
	y := blas64.Vector{N: len(v), Data: v, Inc: 1}
	for j, q := range cols {
		x := blas64.Vector{N: len(q), Data: q, Inc: 1}
		d := blas64.Dot(x, y)
		c[j] += d
		blas64.Axpy(-d, x, y)
	}
}

func wuNorm(v []float64) float64 {
	return blas64.Nrm2(blas64.Vector{N: len(v), Data: v, Inc: 1})
}

// wuCoarseFirst returns 0..n−1 in bit-reversed order: early columns then span
// nearly all, and the later ones are found dependent.
func wuCoarseFirst(n int) []int {
	width := bits.Len(uint(n - 1))
	out := make([]int, 0, n)
	for i := 0; i < 1<<width; i++ {
		if k := int(bits.Reverse64(uint64(i)) >> (64 - width)); k < n {
			out = append(out, k)
		}
	}
	return out
}

func wuRows(cols [][]float64, n int) []float64 {
	r := len(cols)
	q := make([]float64, n*r)
	for j, c := range cols {
		for i, v := range c {
			q[i*r+j] = v
		}
	}
	return q
}

// wuChebyshev turns values at the nodes into coefficients, for each of r columns.
func wuChebyshev(coords [][]float64, r int) []float64 {
	out := make([]float64, wuNodes*r)
	for m := range wuNodes {
		for k, c := range coords {
			w := 2 / float64(wuNodes) * math.Cos(math.Pi*float64(m)*(float64(k)+0.5)/wuNodes)
			if m == 0 {
				w /= 2
			}
			for j, v := range c {
				out[m*r+j] += w * v
			}
		}
	}
	return out
}

// exponential writes exp(−(t − t0)/e^u) at every time. Evenly spaced times are
// done by recurrence, restarted every 64 so that rounding cannot build up.
func (b *wuBasis) exponential(u float64, out []float64) {
	rate := math.Exp(-u)
	if !b.even {
		for i, t := range b.t {
			out[i] = math.Exp(-(t - b.t0) * rate)
		}
		return
	}
	step := math.Exp(-b.spacing * rate)
	e := 1.0
	for i := range out {
		if i&63 == 0 {
			e = math.Exp(-float64(i) * b.spacing * rate)
		}
		out[i] = e
		e *= step
	}
}

// coordinates writes the coordinates of the exponential at u and of its
// derivative by u.
func (b *wuBasis) coordinates(u float64, c, d []float64) {
	x := (2*u - b.lo - b.hi) / (b.hi - b.lo)
	scale := 2 / (b.hi - b.lo)
	for j := range c {
		c[j], d[j] = 0, 0
	}
	// T_{k+1} = 2x T_k − T_{k−1}; T_k' = k U_{k−1}, U_{k+1} = 2x U_k − U_{k−1}.
	tPrev, tNow := x, 1.0
	uPrev, uNow := 0.0, 0.0 // U_{k−2}, U_{k−1}
	for k := range wuNodes {
		dk := float64(k) * uNow * scale
		row := b.cheb[k*b.r : (k+1)*b.r]
		row = row[:len(c)]
		d := d[:len(c)]
		for j, a := range row {
			c[j] += a * tNow
			d[j] += a * dk
		}
		tPrev, tNow = tNow, 2*x*tNow-tPrev
		if k == 0 {
			uNow = 1
		} else {
			uPrev, uNow = uNow, 2*x*uNow-uPrev
		}
	}
}

// project returns the coordinates of y.
func (b *wuBasis) project(y []float64) []float64 {
	c := make([]float64, b.r)
	b.projectInto(y, c)
	return c
}

func (b *wuBasis) projectInto(y, c []float64) {
	blas64.Gemv(blas.Trans, 1, blas64.General{Rows: len(y), Cols: b.r, Data: b.q, Stride: b.r}, // Qᵀy
		blas64.Vector{N: len(y), Data: y, Inc: 1}, 0, blas64.Vector{N: b.r, Data: c, Inc: 1})
}
