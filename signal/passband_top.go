package signal

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// topFit is the smooth fit of the upper part of a passband.
type topFit struct {
	at    int       // index of the maximum
	peak  float64   // density there, its excess by noise taken off
	u     float64   // relative standard uncertainty of peak
	from  int       // index of curve[0]
	curve []float64 // fitted logarithm of density
	sd    float64   // typical standard deviation of curve
}

const (
	topDepth  = 3.0 // dB below the maximum down to which the fit goes
	topKnots  = 40
	peakDraws = 400
)

// top fits a smooth curve to the part of the passband around its maximum: a
// cubic spline with a penalty on its second differences (Eilers and Marx, Statist.
// Sci. 11 (1996) 89-121), the penalty by greatest restricted likelihood.
func (c *shapeFit) top() (topFit, error) {
	from, to := c.topSpan()
	groups, width := c.groups(from, to)
	fit, err := fitSpline(groups, c.sigma/math.Sqrt(width))
	if err != nil {
		return topFit{}, fmt.Errorf("signal: no smooth curve can be laid through the passband: %v", err)
	}
	mean, excess, sd := fit.maximum()
	out := topFit{from: from, peak: math.Exp(mean - excess), u: sd, sd: fit.typical()}
	for i := from; i < to; i++ {
		out.curve = append(out.curve, fit.at((float64(i-from)+0.5)/width-0.5))
		if out.curve[i-from] > out.curve[max(0, out.at-from)] || i == from {
			out.at = i
		}
	}
	return out, nil
}

// topSpan is the stretch around the maximum above topDepth.
func (c *shapeFit) topSpan() (from, to int) {
	at := 0
	for i, v := range c.smooth {
		if v > c.smooth[at] {
			at = i
		}
	}
	least := c.smooth[at] * math.Pow(10, -topDepth/10)
	from, to = at, at+1
	for i, v := range c.smooth { // a valley between humps belongs to it
		if v > least {
			from, to = min(from, i), max(to, i+1)
		}
	}
	for to-from < leastBins/2 {
		from, to = max(0, from-1), min(len(c.smooth), to+1)
	}
	return from, to
}

// groups are means of bins, so that there are a few hundred at most.
func (c *shapeFit) groups(from, to int) (means []float64, width float64) {
	w := max(1, (to-from)/(8*topKnots))
	for i := from; i+w <= to; i += w {
		means = append(means, meanOf(c.log[i:i+w]))
	}
	return means, float64(w)
}

// spline is a penalised fit at equally spaced positions 0, 1, 2 ...
type spline struct {
	n     int // positions
	knots int // coefficients
	coef  *mat.VecDense
	chol  mat.Cholesky // of the coefficients' inverse covariance
}

// basis are the four cubic B-splines that are not 0 at position x, and the
// number of the first.
func (s *spline) basis(x float64) (first int, b [4]float64) {
	t := x / float64(s.n-1) * float64(s.knots-3)
	first = max(0, min(s.knots-4, int(math.Floor(t))))
	t -= float64(first)
	r := 1 - t
	return first, [4]float64{r * r * r / 6, (3*t*t*t - 6*t*t + 4) / 6, (3*r*r*r - 6*r*r + 4) / 6, t * t * t / 6}
}

func (s *spline) at(x float64) float64 {
	first, b := s.basis(x)
	v := 0.0
	for k, w := range b {
		v += w * s.coef.AtVec(first+k)
	}
	return v
}

// fitSpline fits values of standard deviation sigma.
func fitSpline(y []float64, sigma float64) (*spline, error) {
	s := &spline{n: len(y), knots: max(6, min(topKnots, len(y)/3))}
	normal, right := s.normal(y, sigma)
	penalty := secondDifferences(s.knots)
	best, bestAt := math.Inf(1), math.NaN()
	for e := -2.0; e <= 9; e += 0.25 {
		if crit, err := s.try(normal, penalty, right, math.Pow(10, e)); err == nil && crit < best {
			best, bestAt = crit, e
		}
	}
	if math.IsNaN(bestAt) {
		return nil, fmt.Errorf("%d values do not settle it", len(y))
	}
	_, err := s.try(normal, penalty, right, math.Pow(10, bestAt))
	return s, err
}

// normal are the matrix and the right side of the least-squares equations.
func (s *spline) normal(y []float64, sigma float64) (*mat.SymDense, *mat.VecDense) {
	a, r := mat.NewSymDense(s.knots, nil), mat.NewVecDense(s.knots, nil)
	w := 1 / (sigma * sigma)
	for i, v := range y {
		first, b := s.basis(float64(i))
		for j := range b {
			r.SetVec(first+j, r.AtVec(first+j)+w*b[j]*v)
			for k := j; k < len(b); k++ {
				a.SetSym(first+j, first+k, a.At(first+j, first+k)+w*b[j]*b[k])
			}
		}
	}
	return a, r
}

// secondDifferences is DᵀD, D taking second differences.
func secondDifferences(n int) *mat.SymDense {
	d := mat.NewDense(n-2, n, nil)
	for i := range n - 2 {
		d.Set(i, i, 1)
		d.Set(i, i+1, -2)
		d.Set(i, i+2, 1)
	}
	out := mat.NewSymDense(n, nil)
	out.SymOuterK(1, d.T())
	return out
}

// try solves for one penalty and returns −2 ln of the restricted likelihood,
// constants left out: the penalty as a prior on the second differences, known
// noise.
func (s *spline) try(normal, penalty *mat.SymDense, right *mat.VecDense, lambda float64) (float64, error) {
	var a, p mat.SymDense
	p.ScaleSym(lambda, penalty)
	a.AddSym(normal, &p)
	if !s.chol.Factorize(&a) {
		return 0, fmt.Errorf("singular")
	}
	s.coef = mat.NewVecDense(s.knots, nil)
	if err := s.chol.SolveVecTo(s.coef, right); err != nil {
		return 0, err
	}
	// yᵀWy − rᵀa⁻¹r is the residual with penalty; the first part is constant.
	return -mat.Dot(right, s.coef) + s.chol.LogDet() - float64(s.knots-2)*math.Log(lambda), nil
}

// maximum is the curve's greatest value, by how much noise makes it too great
// on average, and its standard deviation, from draws of curves that differ from
// the fit as the fit does from the truth. Their seed is fixed.
func (s *spline) maximum() (value, excess, sd float64) {
	const grid = 400
	value = s.highest(s.coef, grid)
	r := rand.New(rand.NewPCG(1, 2))
	var u mat.TriDense
	s.chol.UTo(&u)
	var sum, squares float64
	for range peakDraws {
		z := mat.NewVecDense(s.knots, nil)
		for i := range s.knots {
			z.SetVec(i, r.NormFloat64())
		}
		var d mat.VecDense
		if err := d.SolveVec(&u, z); err != nil {
			return value, 0, s.typical()
		}
		d.AddVec(&d, s.coef)
		e := s.highest(&d, grid) - value
		sum += e
		squares += e * e
	}
	excess = sum / peakDraws
	sd = math.Sqrt(math.Max(0, squares/peakDraws-excess*excess))
	// The correction is an estimate itself: too small for a flat top, too great for
	// a round one, by up to its own size (found by simulation).
	return value, excess, math.Hypot(sd, excess)
}

func (s *spline) highest(coef *mat.VecDense, grid int) float64 {
	top := math.Inf(-1)
	for i := range grid + 1 {
		first, b := s.basis(float64(i) / float64(grid) * float64(s.n-1))
		v := 0.0
		for k, w := range b {
			v += w * coef.AtVec(first+k)
		}
		top = math.Max(top, v)
	}
	return top
}

// typical is the standard deviation of the fit in the middle.
func (s *spline) typical() float64 {
	first, b := s.basis(float64(s.n-1) / 2)
	v, x := mat.NewVecDense(s.knots, nil), mat.NewVecDense(s.knots, nil)
	for k, w := range b {
		v.SetVec(first+k, w)
	}
	if s.chol.SolveVecTo(x, v) != nil {
		return math.NaN()
	}
	return math.Sqrt(mat.Dot(v, x))
}

// ripple is the greatest depth of a valley below the lower of the peaks on its
// two sides, in decibels; 0 where it is not twice its uncertainty.
func (c *shapeFit) ripple(t topFit) float64 {
	n := len(t.curve)
	right := make([]float64, n+1)
	right[n] = math.Inf(-1)
	for i := n - 1; i >= 0; i-- {
		right[i] = math.Max(right[i+1], t.curve[i])
	}
	deepest, left := 0.0, math.Inf(-1)
	for i, v := range t.curve {
		left = math.Max(left, v)
		deepest = math.Max(deepest, math.Min(left, right[i])-v)
	}
	if deepest < 2*math.Sqrt2*t.sd {
		return 0
	}
	return deepest * 10 / math.Ln10
}
