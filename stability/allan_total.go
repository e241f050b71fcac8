package stability

// devReflected is the total deviation's sum of squared second differences over
// one stretch, extended at both ends by odd reflection:
// x(1-j) = 2 x(1) - x(1+j), x(N+j) = 2 x(N) - x(N-j). It has N - 2 terms and
// needs m < N.
func devReflected(x []float64, m int) devSum {
	n := len(x)
	if n < 3 || m >= n {
		return devSum{}
	}
	at := func(i int) float64 {
		switch {
		case i < 0:
			return 2*x[0] - x[-i]
		case i >= n:
			return 2*x[n-1] - x[2*(n-1)-i]
		}
		return x[i]
	}
	s := devSum{terms: n - 2}
	for i := 1; i < n-1; i++ {
		v := (at(i+m) - x[i]) - (x[i] - at(i-m))
		s.sum += v * v
	}
	return s
}

// devDense is the averaging factor up to which the modified and the Hadamard
// total take every run of 3m points. Beyond it they take every (m/devDense)-th:
// neighbouring runs then still share all but one part in 3*devDense of their
// points, and the work per factor stays in proportion to the record.
const devDense = 128

// devRuns is the modified total's sum over runs of 3m phase points: each run
// has the line through the means of its halves taken off, is extended by even
// reflection on both sides, and gives the mean of its 6m squared second
// differences of averages over m points.
func devRuns(x []float64, m int) devSum {
	var s devSum
	run := devRun{m: m, e: make([]float64, 3*m), cum: make([]float64, 9*m+1)}
	for i := 0; i+3*m <= len(x); i += max(1, m/devDense) {
		copy(run.e, x[i:])
		s.sum += run.meanSquare()
		s.terms++
	}
	return s
}

// devFrequencyRuns is the Hadamard total's sum: as [devRuns], on runs of 3m
// averages of frequency over tau0. The result is in phase units: its mean is
// the mean square third difference of phase.
func devFrequencyRuns(x []float64, m int) devSum {
	var s devSum
	run := devRun{m: m, e: make([]float64, 3*m), cum: make([]float64, 9*m+1)}
	for i := 0; i+3*m < len(x); i += max(1, m/devDense) {
		for j := range run.e {
			run.e[j] = x[i+j+1] - x[i+j]
		}
		s.sum += run.meanSquare() * float64(m) * float64(m)
		s.terms++
	}
	return s
}

// devRun is the work space for one run of 3m values.
type devRun struct {
	m   int
	e   []float64
	cum []float64
}

// meanSquare is the mean over the 6m positions of the squared second
// difference of averages over m. The reflections make position j equal to
// 3m - j and to 9m - j, so the positions from 3m/2 to 9m/2 stand for all.
func (r *devRun) meanSquare() float64 {
	r.removeHalfLine()
	r.extend()
	m, c := r.m, r.cum
	at := func(j int) float64 {
		d := (c[j+3*m] - c[j]) - 3*(c[j+2*m]-c[j+m])
		return d * d
	}
	lo, hi := (3*m+1)/2, 9*m/2
	sum := 0.0
	c0, c1, c2, c3 := c[lo:][:hi-lo+1], c[lo+m:][:hi-lo+1], c[lo+2*m:][:hi-lo+1], c[lo+3*m:][:hi-lo+1]
	for j := range c0 {
		d := (c3[j] - c0[j]) - 3*(c2[j]-c1[j])
		sum += d * d
	}
	sum *= 2
	if m%2 == 0 { // the ends lie on the axes of reflection and count once
		sum -= at(lo) + at(hi)
	}
	return sum / float64(6*m) / float64(m) / float64(m)
}

// extend sums up the run with its reflections on both sides.
func (r *devRun) extend() {
	n, c, s := len(r.e), r.cum, 0.0
	for i := range r.e {
		s += r.e[n-1-i]
		c[i+1] = s
	}
	for i, v := range r.e {
		s += v
		c[n+i+1] = s
	}
	for i := range r.e {
		s += r.e[n-1-i]
		c[2*n+i+1] = s
	}
}

// removeHalfLine takes off the line through the means of the two halves; the
// middle value of an odd number belongs to neither.
func (r *devRun) removeHalfLine() {
	n := len(r.e)
	half := n / 2
	first, last := 0.0, 0.0
	for k := range half {
		first += r.e[k]
		last += r.e[n-1-k]
	}
	slope := (last - first) / float64(half) / float64(n-half)
	middle := (last + first) / 2 / float64(half)
	for k := range r.e {
		r.e[k] -= middle + slope*(float64(k)-float64(n-1)/2)
	}
}
