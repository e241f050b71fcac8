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
// A.., ln tau..) at the given times; with no line the second is left out.
func (w *WarmUp) columns(t []float64) [][]float64 {
	b := w.fitter.basis
	k := len(w.Terms)
	cols := make([][]float64, 2+2*k)
	for i := range cols {
		cols[i] = make([]float64, len(t))
	}
	for i, v := range t {
		cols[0][i], cols[1][i] = 1, (v-b.mid)/b.half
		for j, term := range w.Terms {
			x := (v - b.t0) / term.TauS
			e := math.Exp(-x)
			cols[2+j][i], cols[2+k+j][i] = e, term.AmplitudeHz*x*e
		}
	}
	if w.noLine {
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

// uncertainties fills in the covariances and what follows from them.
func (w *WarmUp) uncertainties(r wuRobust) {
	gram := resInverseGram(w.columns(w.fitter.t), r.weights)
	independent := mat.NewSymDense(gram.SymmetricDim(), nil)
	independent.ScaleSym(w.SigmaHz*w.SigmaHz, gram)
	w.CovIndependent = w.public(independent)
	w.Cov = w.CovIndependent
	k := len(w.Terms)
	for i := range w.Terms {
		t := &w.Terms[i]
		t.UAmplitudeHz = math.Sqrt(w.Cov[2+i][2+i])
		t.UTauS = t.TauS * math.Sqrt(w.Cov[2+k+i][2+k+i])
	}
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
