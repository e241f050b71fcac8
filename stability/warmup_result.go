package stability

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// result turns the chosen candidate into a WarmUp.
func (w *WarmUpFitter) result(y []float64, cands []wuCandidate, best int) WarmUp {
	c := &cands[best]
	b := w.basis
	out := WarmUp{T0S: b.t0, TRefS: w.opt.TRefS, EndS: w.t[len(w.t)-1], SigmaHz: c.SigmaHz,
		Robust: w.opt.Loss == Huber, ScaleHz: c.robust.scale, N: len(y) - len(c.robust.aside), SpacingS: b.spacing,
		SetAside: c.robust.aside, Weights: c.robust.weights, Residuals: c.robust.residuals, Iterations: c.fit.iter,
		Effective: EffectivePoints(c.robust.clean),
		noLine:    w.opt.NoLine, fitter: w, fit: c.fit}
	if w.opt.TRefS == 0 {
		out.TRefS = out.EndS
	}
	for i, weight := range out.Weights {
		if weight > 0 && weight < 1 {
			out.Limited = append(out.Limited, i)
		}
	}
	out.SlopeHzPerS = c.fit.slope / b.half
	out.LimitHz = c.fit.c + out.SlopeHzPerS*(out.TRefS-b.mid)
	for k, u := range c.fit.u {
		out.Terms = append(out.Terms, Term{AmplitudeHz: c.fit.a[k], TauS: math.Exp(u)})
	}
	for i := range cands {
		out.Candidates = append(out.Candidates, cands[i].Candidate)
		out.warn(cands[i].Candidate, c.Candidate)
	}
	out.uncertainties(c.robust)
	return out
}

// warn notes a rejected candidate that would have won.
func (w *WarmUp) warn(c, best Candidate) {
	if c.Rejected != "" && c.Terms > best.Terms && c.AICc < best.AICc-4 {
		w.Warnings = append(w.Warnings, "a further exponential is in the record but can't be given: "+c.Rejected)
	}
}

// columns returns the derivatives of the curve by (c, slope per half record,
// A.., ln tau..) at the readings; with no line the second is left out.
func (w *WarmUpFitter) columns(f wuFit) [][]float64 {
	b := w.basis
	k := len(f.u)
	cols := make([][]float64, 2+2*k)
	for i := range cols {
		cols[i] = make([]float64, len(w.t))
	}
	for i, v := range w.t {
		cols[0][i], cols[1][i] = 1, (v-b.mid)/b.half
	}
	for j, u := range f.u {
		w.exponential(u, cols[2+j])
		rate := math.Exp(-u)
		for i, e := range cols[2+j] {
			cols[2+k+j][i] = f.a[j] * (w.t[i] - b.t0) * rate * e
		}
	}
	if w.opt.NoLine {
		cols = append(cols[:1], cols[2:]...)
	}
	return cols
}

// public turns a covariance of the constants in the order of columns into that of the
// constants as given.
func (w *WarmUp) public(cov *mat.SymDense) [][]float64 {
	b := w.fitter.basis
	n := 2 + 2*len(w.Terms)
	// Limit = c + slope·(TRef − mid)/half, Slope = slope/half.
	m := mat.NewDense(n, cov.SymmetricDim(), nil)
	shift := 0
	m.Set(0, 0, 1)
	if !w.noLine {
		m.Set(0, 1, (w.TRefS-b.mid)/b.half)
		m.Set(1, 1, 1/b.half)
	} else {
		shift = 1
	}
	for i := 2; i < n; i++ {
		m.Set(i, i-shift, 1)
	}
	var half, full mat.Dense
	half.Mul(m, cov)
	full.Mul(&half, m.T())
	out := make([][]float64, n)
	for i := range out {
		out[i] = append([]float64(nil), full.RawRowView(i)...)
	}
	return out
}

// uncertainties fills in the noise, the covariances and what follows from them.
//
// The estimator is, to first order, the linear map A = (JᵀWJ)⁻¹JᵀW of the
// readings with J the derivatives of the curve and W one for every reading
// used; so the constants' covariance is A·K·Aᵀ with K that of the noise.
func (w *WarmUp) uncertainties(r wuRobust) {
	t := w.fitter.t
	cols := w.fitter.columns(w.fit)
	w.Noise = FitNoise(t, r.residuals, r.weights, cols)
	w.Noise.EffectiveCount = w.Effective
	gram := resInverseGram(cols, r.weights)
	independent := mat.NewSymDense(gram.SymmetricDim(), nil)
	independent.ScaleSym(w.SigmaHz*w.SigmaHz, gram)
	w.CovIndependent = w.public(independent)
	rows := wuEstimator(gram, cols, r.weights)
	w.Cov = w.public(w.Noise.covariance(t, rows))
	k, base := len(w.Terms), len(cols)-2*len(w.Terms)
	for i := range w.Terms {
		term := &w.Terms[i]
		term.UAmplitudeHz = math.Sqrt(w.Cov[2+i][2+i])
		u, dof := w.Noise.U(t, rows[base+k+i])
		term.UTauS, term.DoF = term.TauS*u, dof
	}
	limit := append([]float64(nil), rows[0]...)
	if !w.noLine {
		wuAxpy((w.TRefS-w.fitter.basis.mid)/w.fitter.basis.half, rows[1], limit)
		_, w.DoFSlope = w.Noise.U(t, rows[1])
	}
	_, w.DoFLimit = w.Noise.U(t, limit)
}

// wuEstimator returns the rows of A.
func wuEstimator(gram *mat.SymDense, cols [][]float64, weights []float64) [][]float64 {
	rows := make([][]float64, len(cols))
	for i := range rows {
		rows[i] = make([]float64, len(weights))
		for j, c := range cols {
			wuAxpy(gram.At(i, j), c, rows[i])
		}
		for k, v := range weights {
			if v == 0 {
				rows[i][k] = 0
			}
		}
	}
	return rows
}

// resInverseGram returns (XᵀWX)⁻¹ by orthogonal factors, W counting only
// whether a reading was used.
func resInverseGram(cols [][]float64, weights []float64) *mat.SymDense {
	p, n := len(cols), len(weights)
	x := mat.NewDense(n, p, nil)
	for j, c := range cols {
		for i, v := range c {
			if weights[i] > 0 {
				x.Set(i, j, v)
			}
		}
	}
	var qr mat.QR
	qr.Factorize(x)
	var r mat.Dense
	qr.RTo(&r)
	tri := mat.NewTriDense(p, mat.Upper, nil)
	for i := range p {
		for j := i; j < p; j++ {
			tri.SetTri(i, j, r.At(i, j))
		}
	}
	out := mat.NewSymDense(p, nil)
	var inv mat.TriDense
	if inv.InverseTri(tri) != nil {
		for i := range p {
			out.SetSym(i, i, math.Inf(1))
		}
		return out
	}
	var full mat.Dense
	full.Mul(&inv, inv.T())
	for i := range p {
		for j := i; j < p; j++ {
			out.SetSym(i, j, full.At(i, j))
		}
	}
	return out
}
