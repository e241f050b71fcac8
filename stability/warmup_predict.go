package stability

import "math"

// curve writes the fitted curve at every reading.
func (w *WarmUpFitter) curve(f wuFit, out []float64) { w.curveWith(f, out, make([]float64, len(out))) }

// curveWith is curve with a working vector of the same length.
func (w *WarmUpFitter) curveWith(f wuFit, out, work []float64) {
	b := w.basis
	for i, t := range w.t {
		out[i] = f.c + f.slope*(t-b.mid)/b.half
	}
	for k, u := range f.u {
		w.exponential(u, work)
		wuAxpy(f.a[k], work, out)
	}
}

// exponential writes exp(−(t − t0)/e^u) at every reading.
func (w *WarmUpFitter) exponential(u float64, out []float64) {
	if w.group == 1 {
		w.basis.exponential(u, out)
		return
	}
	rate := math.Exp(-u)
	for i, t := range w.t {
		out[i] = math.Exp(-(t - w.basis.t0) * rate)
	}
}

// At returns the fitted frequency at time t (seconds).
func (w WarmUp) At(t float64) float64 {
	v := w.LimitHz + w.SlopeHzPerS*(t-w.TRefS)
	for _, term := range w.Terms {
		v += term.AmplitudeHz * math.Exp(-(t-w.T0S)/term.TauS)
	}
	return v
}

// SlopeAt returns the slope of the fitted curve at time t, Hz/s.
func (w WarmUp) SlopeAt(t float64) float64 {
	v := w.SlopeHzPerS
	for _, term := range w.Terms {
		v -= term.AmplitudeHz / term.TauS * math.Exp(-(t-w.T0S)/term.TauS)
	}
	return v
}

// gradient writes the derivatives of At(t) by the constants, in the order of Cov.
func (w WarmUp) gradient(t float64) []float64 {
	k := len(w.Terms)
	g := make([]float64, 2+2*k)
	g[0], g[1] = 1, t-w.TRefS
	for i, term := range w.Terms {
		x := (t - w.T0S) / term.TauS
		e := math.Exp(-x)
		g[2+i] = e
		g[2+k+i] = term.AmplitudeHz * x * e
	}
	return g
}

// UAt returns the standard uncertainty of At(t): that of the fitted constants
// under the correlation of the residual, without the noise of a single reading.
func (w WarmUp) UAt(t float64) float64 { return wuQuadratic(w.Cov, w.gradient(t)) }

// Travel returns the movement predicted from t1 to t2, At(t2) − At(t1), and
// its standard uncertainty, the noise's own wandering between the two left out.
func (w WarmUp) Travel(t1, t2 float64) (moved, u float64) {
	g, g1 := w.gradient(t2), w.gradient(t1)
	for i := range g {
		g[i] -= g1[i]
	}
	return w.At(t2) - w.At(t1), wuQuadratic(w.Cov, g)
}

// LimitAt returns final_frequency: the exponentials gone, the straight line
// taken at the horizon (seconds), with its standard uncertainty.
func (w WarmUp) LimitAt(horizon float64) (f, u float64) {
	g := make([]float64, len(w.Cov))
	g[0], g[1] = 1, horizon-w.TRefS
	return w.LimitHz + w.SlopeHzPerS*(horizon-w.TRefS), wuQuadratic(w.Cov, g)
}

// ShortestTau returns the shortest time constant, or +Inf with none.
func (w WarmUp) ShortestTau() float64 {
	if len(w.Terms) == 0 {
		return math.Inf(1)
	}
	return w.Terms[0].TauS
}

func wuQuadratic(cov [][]float64, g []float64) float64 {
	sum := 0.0
	for i, row := range cov {
		for j, c := range row {
			sum += c * g[i] * g[j]
		}
	}
	return math.Sqrt(math.Max(0, sum))
}
