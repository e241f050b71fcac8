package stability

// devSum is a sum of squares with the number of terms in it.
type devSum struct {
	sum   float64
	terms int
}

func (s devSum) mean() float64 { return s.sum / float64(s.terms) }

// devPass holds, for one averaging factor, the sums over all stretches from
// which the overlapping, modified and Hadamard deviations follow. One walk over
// the points fills all three, because the recurrences share their differences:
//
//	t(i) = x(i+m) - x(i)
//	second difference   a(i) = t(i+m) - t(i)
//	third difference    h(i) = a(i+m) - a(i)
//	sum of m second differences   S(i+1) = S(i) + h(i)
type devPass struct {
	m                int
	allan, mod, hada devSum
}

const (
	// devBlock is the least number of points walked before the running sum S is
	// formed anew, so that its rounding never grows over a long record, and the
	// number over which several factors share the processor's cache.
	devBlock = 1 << 14
	// devRestart bounds the cost of forming S anew to one part in so many.
	devRestart = 16
)

// walk adds all terms of one stretch to the sums.
func (q *devPass) walk(x []float64) {
	for lo := 0; lo < len(x)-2*q.m; lo += q.blockLen() {
		q.block(x, lo)
	}
}

func (q *devPass) blockLen() int { return max(devBlock, devRestart*q.m) }

// block adds the terms that start in x[lo : lo+blockLen].
func (q *devPass) block(x []float64, lo int) {
	m, hi := q.m, lo+q.blockLen()
	thirds := min(hi, len(x)-3*m) // third differences start before this
	if lo <= len(x)-3*m {
		q.triple(x, lo, max(lo, thirds), hi > len(x)-3*m)
	}
	q.seconds(x, max(lo, thirds), min(hi, len(x)-2*m))
}

// triple walks the starts from lo to hi that have all three kinds. The last
// average of m second differences needs no third difference; it is added where
// the stretch ends here.
func (q *devPass) triple(x []float64, lo, hi int, ends bool) {
	m, n := q.m, hi-lo
	s := devSecondSum(x, lo, m)
	x0, x1, x2, x3 := x[lo:][:n], x[lo+m:][:n], x[lo+2*m:][:n], x[lo+3*m:]
	x3 = x3[:n]
	var a, h, mm float64
	for i := range x0 {
		t := x2[i] - x1[i]
		d2 := t - (x1[i] - x0[i])
		d3 := (x3[i] - x2[i] - t) - d2
		a += d2 * d2
		h += d3 * d3
		mm += s * s
		s += d3
	}
	q.mod.terms += n
	if ends {
		mm += s * s
		q.mod.terms++
	}
	q.allan.sum += a
	q.allan.terms += n
	q.hada.sum += h
	q.hada.terms += n
	q.mod.sum += mm
}

// seconds adds second differences that start from lo to hi.
func (q *devPass) seconds(x []float64, lo, hi int) {
	if hi <= lo {
		return
	}
	m, n := q.m, hi-lo
	x0, x1, x2 := x[lo:][:n], x[lo+m:][:n], x[lo+2*m:][:n]
	var a float64
	for i := range x0 {
		d2 := (x2[i] - x1[i]) - (x1[i] - x0[i])
		a += d2 * d2
	}
	q.allan.sum += a
	q.allan.terms += n
}

// devSecondSum is the sum of the m second differences that start at lo.
func devSecondSum(x []float64, lo, m int) float64 {
	x0, x1, x2 := x[lo:][:m], x[lo+m:][:m], x[lo+2*m:][:m]
	s := 0.0
	for i := range x0 {
		s += (x2[i] - x1[i]) - (x1[i] - x0[i])
	}
	return s
}

// devStrided is the sum of squared differences of order d (2 or 3) of every
// m-th point of one stretch.
func devStrided(x []float64, m, d int) devSum {
	var s devSum
	for i := 0; i+d*m < len(x); i += m {
		v := (x[i+2*m] - x[i+m]) - (x[i+m] - x[i])
		if d == 3 {
			v = (x[i+3*m] - x[i+2*m] - (x[i+2*m] - x[i+m])) - v
		}
		s.sum += v * v
		s.terms++
	}
	return s
}
