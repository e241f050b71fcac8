package stability

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"
)

// Resample is one refit of a resampled record.
type Resample struct {
	LimitHz, SlopeHzPerS float64 // the line at TRefS
	AmplitudesHz, TausS  []float64
}

// BootstrapOptions chooses how records are resampled.
type BootstrapOptions struct {
	BlockS   float64            // length of the blocks, s; 0: chosen, see Bootstrap
	Progress func(done, of int) // called now and then, never twice at once; or nil
}

// Bootstrap refits n records resampled from the fitted one: curve plus the
// residual in blocks drawn at random from it, round the end (circular block
// bootstrap: Politis and Romano 1992; seeded), each fitted with the same number of terms and
// the same loss. Blocks are long enough to carry the correlation: three times
// the record over its effective number of points, but at most a quarter of it.
//
// The spread of the refits shows how the constants hang together and how skew
// they are. It is not the stated uncertainty: blocks can't carry noise slower
// than themselves, so it falls short for flicker and random walks, where Cov does not.
func (w WarmUp) Bootstrap(ctx context.Context, n int, seed uint64, opt BootstrapOptions) ([]Resample, error) {
	block := w.blockLength(opt.BlockS)
	return w.Refit(ctx, n, opt.Progress, func(resample int, into []int) {
		rng := rand.New(rand.NewPCG(seed, uint64(resample)))
		for k := 0; k < len(into); k += block {
			from := rng.IntN(len(into))
			for j := k; j < min(k+block, len(into)); j++ {
				into[j] = (from + j - k) % len(into)
			}
		}
	})
}

// Refit fits n records whose reading i is curve + Residuals[into[i]], starting
// from the constants found; pick fills into for each resample and is called from several
// goroutines. Readings that were set aside lend the residual zero.
func (w WarmUp) Refit(ctx context.Context, n int, progress func(done, of int), pick func(resample int, into []int)) ([]Resample, error) {
	out := make([]Resample, n)
	var next, done atomic.Int64
	var wait sync.WaitGroup
	var tell sync.Mutex
	first := w.resampler()
	for range min(n, runtime.GOMAXPROCS(0)) {
		r := first.clone()
		wait.Add(1)
		go func() {
			defer wait.Done()
			into := make([]int, len(w.Residuals))
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				pick(i, into)
				out[i] = r.refit(into)
				if d := int(done.Add(1)); progress != nil && (d%64 == 0 || d == n) {
					tell.Lock()
					progress(d, n)
					tell.Unlock()
				}
			}
		}()
	}
	wait.Wait()
	return out, ctx.Err()
}

func (w WarmUp) blockLength(seconds float64) int {
	n := len(w.Residuals)
	if seconds > 0 {
		return max(1, min(n, int(math.Round(seconds/w.SpacingS))))
	}
	if w.Effective >= 0.8*float64(n) {
		return 1
	}
	return max(1, min(n/4, int(math.Ceil(3*float64(n)/w.Effective))))
}

// wuResampler refits curve + picked residuals in the coordinates of a basis.
type wuResampler struct {
	w           WarmUp
	p           *wuProjection
	curve       []float64 // coordinates of the fitted curve
	noise       []float64 // residuals that are drawn from
	drawn       []float64
	plain       []float64 // coordinates of the record last fitted by least squares
	at          []float64 // the fitted curve, its constant left out
	now, excess []float64
	fitted      []float64 // coordinates of the curve last fitted
	ref         float64
}

func (w WarmUp) resampler() *wuResampler {
	f := w.fitter
	r := &wuResampler{w: w}
	r.noise = append([]float64(nil), w.Residuals...)
	for _, i := range w.SetAside {
		r.noise[i] = 0
	}
	r.at = make([]float64, len(f.t))
	fit := w.fit
	r.ref = fit.c
	fit.c = 0
	f.curve(fit, r.at)
	r.curve = f.basis.project(wuGroup(r.at, f.group))
	return r
}

// clone returns a resampler with working vectors of its own.
func (r *wuResampler) clone() *wuResampler {
	c := *r
	n := len(r.noise)
	b := r.w.fitter.basis
	c.p = newWuProjection(b, r.w.noLine)
	c.p.yc, c.plain, c.fitted = make([]float64, b.r), make([]float64, b.r), make([]float64, b.r)
	c.drawn, c.now, c.excess = make([]float64, n), make([]float64, n), make([]float64, n)
	return &c
}

func (r *wuResampler) refit(pick []int) Resample {
	for i, k := range pick {
		r.drawn[i] = r.noise[k]
	}
	fit := r.least(r.drawn)
	if r.w.Robust && r.w.ScaleHz > 0 {
		fit = r.huber(fit)
	}
	return r.resample(fit)
}

// least fits curve + e by least squares, from the constants found.
func (r *wuResampler) least(e []float64) wuFit {
	f := r.w.fitter
	f.basis.projectInto(wuGroup(e, f.group), r.p.yc)
	wuAxpy(1, r.curve, r.p.yc)
	copy(r.plain, r.p.yc)
	return r.p.minimise(r.w.fit.u)
}

func (r *wuResampler) resample(fit wuFit) Resample {
	b := r.w.fitter.basis
	out := Resample{SlopeHzPerS: fit.slope / b.half}
	out.LimitHz = r.ref + fit.c + out.SlopeHzPerS*(r.w.TRefS-b.mid)
	for k, u := range fit.u {
		out.AmplitudesHz = append(out.AmplitudesHz, fit.a[k])
		out.TausS = append(out.TausS, math.Exp(u))
	}
	return out
}

// huber goes on from a least-squares fit by pseudo-values, as fitRobust does, at
// the scale of the record's own fit. Readings beyond the knee don't pull back,
// so each step falls short by their share; it is lengthened by as much, which
// brings most of what Newton's method would and leaves the solution where it is.
func (r *wuResampler) huber(fit wuFit) wuFit {
	f := r.w.fitter
	knee := wuKnee * r.w.ScaleHz
	for range 100 {
		f.curveWith(fit, r.now, r.excess)
		beyond := 0
		for i, e := range r.drawn {
			res := e + r.at[i] - r.now[i]
			r.excess[i] = max(-knee, min(knee, res)) - res
			if r.excess[i] != 0 {
				beyond++
			}
		}
		r.lengthen(float64(len(r.drawn)) / float64(max(1, len(r.drawn)-beyond)))
		before := fit
		fit = r.p.minimise(fit.u)
		if wuSame(before, fit, r.w.ScaleHz) {
			break
		}
	}
	return fit
}

// lengthen sets the coordinates to be fitted: those of the pseudo-values, taken
// k times as far from the curve last fitted.
func (r *wuResampler) lengthen(k float64) {
	p := r.p
	copy(r.fitted, p.yc)
	wuAxpy(-1, p.res, r.fitted)
	r.w.fitter.addTo(p.yc, r.plain, r.excess)
	for j, v := range r.fitted {
		p.yc[j] = v + k*(p.yc[j]-v)
	}
}

// addTo sets yc to plain plus the coordinates of a vector that is mostly zero.
func (w *WarmUpFitter) addTo(yc, plain, sparse []float64) {
	b := w.basis
	if w.group > 1 {
		b.projectInto(wuGroup(sparse, w.group), yc)
		wuAxpy(1, plain, yc)
		return
	}
	copy(yc, plain)
	for i, v := range sparse {
		if v != 0 {
			wuAxpy(v, b.q[i*b.r:(i+1)*b.r], yc)
		}
	}
}
