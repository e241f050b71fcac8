package stability

import (
	"context"
	"fmt"
	"math"
	"sort"
)

// wuCandidate is one number of terms, fitted.
type wuCandidate struct {
	Candidate
	fit    wuFit
	robust wuRobust
}

// candidates fits each number of terms asked for and rates them.
func (w *WarmUpFitter) candidates(ctx context.Context, y []float64) ([]wuCandidate, error) {
	terms := w.opt.Terms
	if terms == nil {
		terms = []int{0, 1, 2}
	}
	aside := wuSlips(y)
	if n := len(y) - len(aside); n < 12 {
		return nil, &NotGivenError{"warm-up fit", fmt.Sprintf("%d readings after %d slips were set aside", n, len(aside)), "at least 12", ErrTooFewReadings}
	}
	var out []wuCandidate
	for _, k := range terms {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if k < 0 || k > 2 {
			return nil, &NotGivenError{"warm-up fit", fmt.Sprintf("%d exponentials asked for", k), "0, 1 or 2", ErrBadReadings}
		}
		out = append(out, w.candidate(y, aside, k))
	}
	w.rate(out, 0x1p-50*math.Abs(wuMedian(y)))
	return out, nil
}

func (w *WarmUpFitter) candidate(y []float64, aside []int, k int) wuCandidate {
	p := newWuProjection(w.basis, w.opt.NoLine)
	fit, robust := w.fitRobust(p, y, aside, k)
	c := wuCandidate{fit: fit, robust: robust}
	c.Terms = k
	for _, u := range fit.u {
		c.TausS = append(c.TausS, math.Exp(u))
	}
	dof := float64(len(y)-len(aside)) - float64(p.nb+2*k)
	c.SigmaHz = math.Sqrt(robust.loss / math.Max(1, dof))
	c.Rejected = w.unsupported(fit)
	if c.Rejected == "" && !p.determined(fit.u) {
		c.Rejected = "the readings leave a time constant open"
	}
	return c
}

// unsupported says why a fit's time constants can't be told from a line, from
// one another, or from a single reading, or returns "".
func (w *WarmUpFitter) unsupported(fit wuFit) string {
	longest := w.span() / 2
	for i, u := range fit.u {
		switch tau := math.Exp(u); {
		case tau > longest:
			return fmt.Sprintf("time constant %.3g s is more than half the record of %.3g s", tau, w.span())
		case u <= w.basis.lo+1e-9:
			return fmt.Sprintf("time constant %.3g s is at the shortest the spacing of %.3g s can show", tau, w.basis.spacing)
		case i > 0 && u-fit.u[i-1] <= wuMinRatio+1e-9:
			return fmt.Sprintf("time constants %.3g s and %.3g s can't be told apart", math.Exp(fit.u[i-1]), tau)
		}
	}
	return ""
}

// rate gives each candidate its AICc; see FitWarmUp.
func (w *WarmUpFitter) rate(cands []wuCandidate, rounding float64) {
	largest := 0
	for i := range cands {
		if cands[i].Terms > cands[largest].Terms {
			largest = i
		}
	}
	cells := make([]*noiseCellsData, len(cands))
	for i := range cands {
		c := &cands[i]
		// A residual of nothing but rounding is as good as zero: no candidate
		// shall win by its last bits.
		if math.Sqrt(c.robust.loss/float64(len(w.t))) > rounding {
			cells[i] = newNoiseCells(w.t, c.robust.clean, c.robust.weights, w.columns(c.fit))
		}
	}
	var noise NoiseModel
	if cells[largest] != nil {
		noise = fitNoise(cells[largest]).heaviest()
	}
	for i := range cands {
		cands[i].rate(cells[i], noise, w.opt.NoLine)
	}
}

// rate sets AICc under the given noise. Cells are nil for an exact fit.
func (c *wuCandidate) rate(cells *noiseCellsData, noise NoiseModel, noLine bool) {
	params := 3 + 2*float64(c.Terms) // constant, line, amplitudes, time constants, scale of the noise
	if noLine {
		params--
	}
	c.AICc = 2 * params
	if cells == nil {
		c.AICc = -1e6 + 2*params
		return
	}
	n := float64(len(cells.t))
	c.AICc += n * math.Log(cells.whitened(noise)/n)
	if rest := n - params - 1; rest > 0 {
		c.AICc += 2 * params * (params + 1) / rest
	} else if c.Rejected == "" {
		c.Rejected = fmt.Sprintf("%d constants from %d points", int(params), len(cells.t))
	}
}

// wuMargin is by how much each further exponential must better AICc.
const wuMargin = 4

// preferred is AICc with the margin of its exponentials.
func (c *wuCandidate) preferred() float64 { return c.AICc + wuMargin*float64(c.Terms) }

// wuChoose returns the index of the best candidate that the record supports.
func wuChoose(cands []wuCandidate, span float64) (int, error) {
	best, over := -1, -1
	for i := range cands {
		c := &cands[i]
		if c.Rejected == "" {
			if best < 0 || c.preferred() < cands[best].preferred() {
				best = i
			}
		} else if over < 0 || c.AICc < cands[over].AICc {
			over = i
		}
	}
	if best < 0 {
		return 0, &NotGivenError{"warm-up fit", cands[0].Rejected, "readings over at least two time constants", ErrRecordTooShort}
	}
	if over >= 0 && wuTooShort(cands[best], cands[over], span) {
		return 0, &NotGivenError{"warm-up fit", cands[over].Rejected, "readings over at least two time constants", ErrRecordTooShort}
	}
	return best, nil
}

// wuTooShort tells whether a part too slow for the record leaves the best
// supported candidate plainly wrong: it explains three quarters of what that
// leaves, and its criterion is better by more than 10.
func wuTooShort(best, over wuCandidate, span float64) bool {
	n := len(over.fit.u)
	slow := n > 0 && math.Exp(over.fit.u[n-1]) > span/2
	return slow && over.AICc < best.AICc-10 && over.robust.loss < best.robust.loss/4
}

// grid returns starts for k exponentials: the best few points of a grid in
// ln tau, by the sum of squares with the linear constants solved.
func (p *wuProjection) grid(k int) [][]float64 {
	if k == 0 {
		return [][]float64{nil}
	}
	type start struct {
		u   []float64
		rss float64
	}
	var all []start
	g := p.b.grid
	for i := range g {
		copy(p.c[0], g[i].c)
		if k == 1 {
			all = append(all, start{[]float64{g[i].u}, p.solve(1)})
			continue
		}
		for j := i + 1; j < len(g); j++ {
			copy(p.c[1], g[j].c)
			all = append(all, start{[]float64{g[i].u, g[j].u}, p.solve(2)})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].rss < all[j].rss })
	var out [][]float64
	for _, s := range all {
		if len(out) < 3 && wuApart(out, s.u) {
			out = append(out, s.u)
		}
	}
	return out
}

// wuApart tells whether u differs from all of starts by more than a grid cell.
func wuApart(starts [][]float64, u []float64) bool {
	for _, s := range starts {
		near := true
		for k := range u {
			near = near && math.Abs(s[k]-u[k]) < 0.5
		}
		if near {
			return false
		}
	}
	return true
}

// search fits k exponentials from the best points of the grid.
func (p *wuProjection) search(k int) wuFit {
	var best wuFit
	for i, start := range p.grid(k) {
		if f := p.minimise(start); i == 0 || f.rss < best.rss {
			best = f
		}
	}
	return best
}
