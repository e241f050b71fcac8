package stability

import (
	"math"
	"sort"
)

// wuKnee is where the Huber loss turns linear, in robust standard deviations.
const wuKnee = 2.0

// wuRobust is what a robust fit leaves.
type wuRobust struct {
	residuals []float64 // reading − curve, one for each reading
	clean     []float64 // the same, limited at the knee, zero where set aside
	weights   []float64 // ψ(r)/r, zero where set aside
	aside     []int
	scale     float64
	loss      float64 // Σ 2ρ(r): the sum of squares for least squares
}

// fitRobust fits k exponentials. The Huber loss is met by pseudo-values
// (Huber 1981, section 7.8): curve + ψ(residual) takes the place of each reading
// and is fitted by least squares, until nothing moves; so the basis need not
// know the weights. Readings set aside sit on the curve.
func (w *WarmUpFitter) fitRobust(p *wuProjection, y []float64, aside []int, k int) (wuFit, wuRobust) {
	r := newWuRobust(y, aside, w.opt)
	p.yc = w.basis.project(wuGroup(r.start(), w.group))
	fit := p.search(k)
	iter := fit.iter
	for pass := range 100 {
		w.curve(fit, r.curve)
		if !r.update(pass) {
			break
		}
		w.basis.projectInto(wuGroup(r.pseudo, w.group), p.yc)
		before := fit
		fit = p.minimise(fit.u)
		iter += fit.iter
		if pass >= wuScalePasses && wuSame(before, fit, r.scale) {
			break
		}
	}
	w.curve(fit, r.curve)
	r.finish()
	fit.c += r.ref
	fit.iter = iter
	return fit, r.wuRobust
}

// wuSame tells whether two fits differ by less than 1e-9 of the noise.
func wuSame(a, b wuFit, scale float64) bool {
	d := math.Abs(a.c-b.c) + math.Abs(a.slope-b.slope)
	for k := range a.u {
		d += math.Abs(a.a[k]-b.a[k]) + math.Abs(a.u[k]-b.u[k])*math.Abs(a.a[k])
	}
	return d <= 1e-9*scale+1e-13*(math.Abs(a.a[0])+math.Abs(a.a[1]))
}

// wuScalePasses is how often the scale is found again before it is held: with
// a scale that moves for ever the iteration need not end.
const wuScalePasses = 4

// wuRobustWork is a robust fit on its way.
type wuRobustWork struct {
	wuRobust
	y             []float64
	ref           float64 // taken off the readings, for the digits
	out           []bool
	loss          Loss
	fixed         bool
	curve, pseudo []float64
}

func newWuRobust(y []float64, aside []int, opt WarmUpOptions) *wuRobustWork {
	n := len(y)
	r := &wuRobustWork{y: y, ref: wuMedian(y), out: make([]bool, n), loss: opt.Loss, fixed: opt.ScaleHz > 0,
		curve: make([]float64, n), pseudo: make([]float64, n)}
	r.wuRobust = wuRobust{aside: aside, scale: opt.ScaleHz, residuals: make([]float64, n), clean: make([]float64, n), weights: make([]float64, n)}
	for _, i := range aside {
		r.out[i] = true
	}
	return r
}

// start returns the readings less ref, those set aside replaced by the one before.
func (r *wuRobustWork) start() []float64 {
	last := 0.0
	for i, v := range r.y {
		if !r.out[i] {
			last = v - r.ref
			break
		}
	}
	for i, v := range r.y {
		if !r.out[i] {
			last = v - r.ref
		}
		r.pseudo[i] = last
	}
	return r.pseudo
}

// update writes curve + ψ(residual) and tells whether a further pass is needed:
// whether any pseudo-value differs from its reading.
func (r *wuRobustWork) update(pass int) bool {
	for i, v := range r.y {
		r.residuals[i] = v - r.ref - r.curve[i]
	}
	if !r.fixed && pass < wuScalePasses {
		r.scale = r.robustScale()
	}
	knee := r.knee()
	limited := false
	for i, res := range r.residuals {
		switch {
		case r.out[i]:
			r.pseudo[i], limited = r.curve[i], true
		case math.Abs(res) > knee:
			r.pseudo[i], limited = r.curve[i]+math.Copysign(knee, res), true
		default:
			r.pseudo[i] = r.y[i] - r.ref
		}
	}
	return limited
}

func (r *wuRobustWork) knee() float64 {
	if r.loss == LeastSquares || !(r.scale > 0) {
		return math.Inf(1)
	}
	return wuKnee * r.scale
}

// robustScale is 1.4826 times the median absolute residual, or where more than
// half are exactly zero (a coarse counter) 1.2533 times the mean one.
func (r *wuRobustWork) robustScale() float64 {
	abs := make([]float64, 0, len(r.y))
	sum := 0.0
	for i, v := range r.residuals {
		if !r.out[i] {
			abs = append(abs, math.Abs(v))
			sum += math.Abs(v)
		}
	}
	if s := 1.4826 * wuMedian(abs); s > 0 {
		return s
	}
	return 1.2533 * sum / float64(len(abs))
}

// finish leaves residuals, weights and loss of the curve as it stands.
func (r *wuRobustWork) finish() {
	knee := r.knee()
	r.wuRobust.loss = 0
	for i, v := range r.y {
		res := v - r.ref - r.curve[i]
		r.residuals[i] = res
		r.clean[i], r.weights[i] = 0, 0
		switch abs := math.Abs(res); {
		case r.out[i]:
		case abs > knee:
			r.clean[i], r.weights[i] = math.Copysign(knee, res), knee/abs
			r.wuRobust.loss += 2*knee*abs - knee*knee
		default:
			r.clean[i], r.weights[i] = res, 1
			r.wuRobust.loss += res * res
		}
	}
}

// wuSlips returns the readings that stand 20 robust standard deviations (and 20 steps of
// the counter's resolution) off the median of the five around them: a digit
// out, half or double count. A warm-up curve is monotone over five readings or nearly, so
// its steepness does not count; near the ends, where the five lie to one side,
// the curve's own travel over the next five is allowed for.
func wuSlips(y []float64) []int {
	n := len(y)
	if n < 7 {
		return nil
	}
	med := make([]float64, n)
	for i := range y {
		lo := max(0, min(i-2, n-5))
		med[i] = wuMedian(y[lo : lo+5])
	}
	dev := make([]float64, n)
	for i, v := range y {
		dev[i] = math.Abs(v - med[i])
	}
	limit := 20 * math.Max(wuSpread(dev), wuResolution(y))
	var out []int
	for i, d := range dev {
		allow := limit
		if i < 2 {
			allow += 3 * math.Abs(med[2]-med[min(6, n-3)])
		} else if i > n-3 {
			allow += 3 * math.Abs(med[n-3]-med[max(n-7, 2)])
		}
		if d > allow {
			out = append(out, i)
		}
	}
	return out
}

// wuSpread is a standard deviation from absolute deviations, by median or 90 %
// point, whichever is larger: with a coarse counter half of them may be zero.
func wuSpread(abs []float64) float64 {
	s := append([]float64(nil), abs...)
	sort.Float64s(s)
	return math.Max(1.4826*s[len(s)/2], s[len(s)*9/10]/1.6449)
}

// wuResolution is the smallest step between successive readings.
func wuResolution(y []float64) float64 {
	q := math.Inf(1)
	for i := 1; i < len(y); i++ {
		if d := math.Abs(y[i] - y[i-1]); d > 0 && d < q {
			q = d
		}
	}
	if math.IsInf(q, 1) {
		return 0
	}
	return q
}

func wuMedian(x []float64) float64 {
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	n := len(s)
	if n == 0 {
		return math.NaN()
	}
	if n%2 == 1 {
		return s[n/2]
	}
	return s[n/2-1] + (s[n/2]-s[n/2-1])/2
}
