package stability

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// tempcoLeastK is the change of ambient that a temperature coefficient needs.
const tempcoLeastK = 3.0

// TemperatureCoefficient is the slope of fractional frequency on ambient.
type TemperatureCoefficient struct {
	Result          // 1/K
	LagS    float64 // thermal lag, a first-order one, s
	ULagS   float64 // its standard uncertainty
	SpanK   float64 // by how much ambient changed after settling
	DriftHz float64 // straight line fitted beside it, Hz/h
	N       int     // readings used
	FromS   float64 // settled from here on, s since power-on
	BandHz  float64 // to this band
	ChangeS float64 // ambient began to change here, s since power-on; 0 where it was not made to
}

// Tempco fits f/nominal = a + b·t + k·L(T) to the readings from the time from
// on (s, on the axis of t), L(T) being the ambient T (°C) after a first-order
// lag: dL/dt = (T − L)/lag. The lag is that of the smallest sum of squares
// between half a median spacing and half the time covered; a, b and k are
// solved for each. The uncertainty of k counts that of the lag and the
// correlation of the residual. It is absent where ambient changed by less than
// 3 K after from (medians of five, so that one wild reading makes no change),
// or so much like a straight line that its effect can't be told from drift.
//
// t, f (Hz) and ambient have equal length; a NaN ambient is filled by the line
// through its neighbours. nominal is in Hz; 0 takes the mean of f.
func Tempco(t, f, ambient []float64, from, nominal float64) TemperatureCoefficient {
	var out TemperatureCoefficient
	ambient, ok := tempcoFilled(t, ambient)
	if !ok {
		out.Result = setAbsent(ReasonNoAmbient)
		return out
	}
	a := 0
	for a < len(t) && t[a] < from {
		a++
	}
	out.N = len(t) - a
	if out.SpanK = tempcoSpan(ambient[a:]); !(out.SpanK >= tempcoLeastK) {
		out.Result = setAbsent(ReasonAmbientSteady)
		return out
	}
	if out.N < 12 {
		out.Result = setAbsent(ReasonTooFewForTempco)
		return out
	}
	if nominal == 0 {
		nominal = setMean(f)
	}
	tempcoFit(t, f, ambient, a, nominal, &out)
	return out
}

// ReasonTooFewForTempco says that a coefficient, a lag and a drift need more readings.
const ReasonTooFewForTempco Reason = "fewer than 12 readings after settling"

// tempcoFilled returns the temperatures with missing ones filled in.
func tempcoFilled(t, ambient []float64) ([]float64, bool) {
	var kt, ka []float64
	for i, v := range ambient {
		if !math.IsNaN(v) {
			kt, ka = append(kt, t[i]), append(ka, v)
		}
	}
	if len(kt) < 2 {
		return nil, false
	}
	out := make([]float64, len(t))
	for i := range out {
		out[i] = setLinear(kt, ka, math.Min(math.Max(t[i], kt[0]), kt[len(kt)-1]))
	}
	return out, true
}

// tempcoSpan is the largest less the smallest running median of five.
func tempcoSpan(a []float64) float64 {
	if len(a) == 0 {
		return 0
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range a {
		m := smMedian(a, i, min(2, i, len(a)-1-i))
		lo, hi = math.Min(lo, m), math.Max(hi, m)
	}
	return hi - lo
}

func setMean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x - v[0]
	}
	return v[0] + sum/float64(len(v))
}

// tempcoLagged returns the ambient after a first-order lag, exact for an
// ambient that is straight between readings, at rest at the first one.
func tempcoLagged(t, ambient []float64, lag float64) []float64 {
	out := make([]float64, len(t))
	out[0] = ambient[0]
	for i := 1; i < len(t); i++ {
		dt := t[i] - t[i-1]
		if dt <= 0 {
			out[i] = out[i-1]
			continue
		}
		rate := (ambient[i] - ambient[i-1]) / dt
		// For the input T0 + rate·x the lagged value is T − rate·lag plus a decaying rest.
		rest := out[i-1] - (ambient[i-1] - rate*lag)
		out[i] = ambient[i] - rate*lag + rest*math.Exp(-dt/lag)
	}
	return out
}

// tempcoSolve solves for a, b and k at one lag; it returns them with the
// residual and the sum of squares.
func tempcoSolve(t, f, lagged []float64) (c [3]float64, resid []float64, rss float64, ok bool) {
	x := tempcoDesign(t, lagged)
	y := mat.NewVecDense(len(f), nil)
	for i, v := range f {
		y.SetVec(i, v-f[0])
	}
	var qr mat.QR
	qr.Factorize(x)
	var b mat.VecDense
	if err := qr.SolveVecTo(&b, false, y); err != nil {
		return c, nil, math.Inf(1), false
	}
	var fit mat.VecDense
	fit.MulVec(x, &b)
	resid = make([]float64, len(f))
	for i := range resid {
		resid[i] = y.AtVec(i) - fit.AtVec(i)
		rss += resid[i] * resid[i]
	}
	return [3]float64{b.AtVec(0), b.AtVec(1), b.AtVec(2)}, resid, rss, true
}

// tempcoDesign has the columns 1, time (scaled to 1) and each given column.
func tempcoDesign(t []float64, cols ...[]float64) *mat.Dense {
	n := len(t)
	x := mat.NewDense(n, 2+len(cols), nil)
	span := math.Max(t[n-1]-t[0], 1e-9)
	for i := range t {
		x.Set(i, 0, 1)
		x.Set(i, 1, (t[i]-t[0])/span-0.5)
		for j, c := range cols {
			x.Set(i, 2+j, c[i]-c[0])
		}
	}
	return x
}

// tempcoFit finds the lag and fills the result in.
func tempcoFit(t, f, ambient []float64, a int, nominal float64, out *TemperatureCoefficient) {
	n := len(t)
	span := t[n-1] - t[a]
	rss := func(logLag float64) float64 {
		_, _, r, _ := tempcoSolve(t[a:], f[a:], tempcoLagged(t, ambient, math.Exp(logLag))[a:])
		return r
	}
	best := setMinimise(rss, math.Log(MedianSpacing(t)/2), math.Log(span/2), 24)
	out.LagS = math.Exp(best)
	lagged := tempcoLagged(t, ambient, out.LagS)[a:]
	c, resid, _, ok := tempcoSolve(t[a:], f[a:], lagged)
	if !ok || tempcoCollinear(t[a:], lagged) || tempcoCollinear(t[a:], ambient[a:]) {
		out.Result = setAbsent(ReasonNotSeparable)
		return
	}
	out.Result = setValue(c[2] / nominal)
	out.DriftHz = c[1] / span * 3600
	const step = 0.01
	more := tempcoLagged(t, ambient, out.LagS*(1+step))[a:]
	byLag := make([]float64, len(lagged))
	for i := range byLag {
		byLag[i] = c[2] * (more[i] - lagged[i]) / step // by ln lag
	}
	uk, ul, dof := tempcoUncertainty(t[a:], tempcoDesign(t[a:], lagged, byLag), resid)
	out.U, out.ULagS, out.DoF = uk/math.Abs(nominal), ul*out.LagS, dof
}

// tempcoCollinear says whether the lagged ambient is all but a straight line in
// time: less than a tenth of its spread is left beside one.
func tempcoCollinear(t, lagged []float64) bool {
	mt, ml := setMean(t), setMean(lagged)
	var tt, tl, ll float64
	for i := range t {
		dt, dl := t[i]-mt, lagged[i]-ml
		tt, tl, ll = tt+dt*dt, tl+dt*dl, ll+dl*dl
	}
	return ll <= 0 || tt <= 0 || 1-tl*tl/(tt*ll) < 0.01
}

// tempcoUncertainty returns the standard uncertainties of the third and fourth
// coefficients of design x, each a weighted sum of readings (the rows of
// (XᵀX)⁻¹Xᵀ), under the noise that the residual shows.
func tempcoUncertainty(t []float64, x *mat.Dense, resid []float64) (uk, ul, dof float64) {
	_, p := x.Dims()
	fitted := make([][]float64, 0, p-1) // a constant is always taken as fitted
	for j := 1; j < p; j++ {
		fitted = append(fitted, mat.Col(nil, j, x))
	}
	noise := FitNoise(t, resid, nil, fitted)
	var gram, inv, rows mat.Dense
	gram.Mul(x.T(), x)
	if err := inv.Inverse(&gram); err != nil {
		return math.Inf(1), math.Inf(1), 0
	}
	rows.Mul(&inv, x.T())
	uk, dof = noise.U(t, rows.RawRowView(2))
	ul, _ = noise.U(t, rows.RawRowView(3))
	return uk, ul, dof
}

// setMinimise returns where f is smallest between a and b: the best of n+1 even
// steps, refined by golden section.
func setMinimise(f func(float64) float64, a, b float64, n int) float64 {
	best, value := a, math.Inf(1)
	step := (b - a) / float64(n)
	for k := 0; k <= n; k++ {
		if v := f(a + float64(k)*step); v < value {
			best, value = a+float64(k)*step, v
		}
	}
	lo, hi := math.Max(a, best-step), math.Min(b, best+step)
	const g = 0.6180339887498949
	x, y := hi-g*(hi-lo), lo+g*(hi-lo)
	fx, fy := f(x), f(y)
	for k := 0; k < 40; k++ {
		if fx < fy {
			hi, y, fy = y, x, fx
			x = hi - g*(hi-lo)
			fx = f(x)
		} else {
			lo, x, fx = x, y, fy
			y = lo + g*(hi-lo)
			fy = f(y)
		}
	}
	return (lo + hi) / 2
}
