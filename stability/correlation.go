package stability

import (
	"math"
	"sort"
)

// NoiseKind names the slow part of a noise model.
type NoiseKind string

// Kinds of noise: white alone, or white plus a slow part.
const (
	NoiseWhite      NoiseKind = "white"       // each reading by itself
	NoiseCorrelated NoiseKind = "correlated"  // forgets itself with one correlation time (first-order autoregressive)
	NoiseFlicker    NoiseKind = "flicker"     // power density as 1/f from the cell spacing to beyond the record
	NoiseRandomWalk NoiseKind = "random walk" // power density as 1/f²
)

// noisePart is a process with covariance Var·exp(−|lag|/TauS).
type noisePart struct {
	Var, TauS float64
}

// NoiseModel is one covariance of the noise with its weight among the models.
type NoiseModel struct {
	Kind     NoiseKind
	Weight   float64
	WhiteVar float64 // variance of the white part of one reading, Hz²
	TauS     float64 // correlation time of a correlated part, s
	DoF      float64 // degrees of freedom of the models' common scale
	parts    []noisePart
}

// Noise is what is known of the noise of a record: not one covariance but a
// weighted set of them, since a record of a few correlation times can't tell
// which is right, and the difference matters (a slope over the last half hour
// of a random walk is uncertain by many times what it is for white noise).
//
// The covariances are white noise plus a process that is first-order autoregressive
// (correlation times from the spacing up to the record, and one far beyond: a random walk), or flicker (a sum of such processes, equally strong,
// correlation times in geometric steps). Weights are the restricted likelihood
// (REML: Patterson and Thompson, Biometrika 58 (1971) 545; Harville, JASA 72
// (1977) 320) with the common scale integrated out (flat prior on its
// logarithm), times a prior flat in the rate 1/tau of an autoregressive part, with
// lumps on the other kinds, and half on no white noise, half flat in the logarithm of
// its share. The restricted likelihood sees only what is
// orthogonal to the columns of the fitted curve, so the slow power which the
// fit has eaten is allowed for. It is evaluated by the factors of a
// quasi-separable matrix in time proportional to the number of cells (Foreman-Mackey et al.,
// Astron. J. 154 (2017) 220), on means over at most noiseCells cells.
type Noise struct {
	Models         []NoiseModel // heaviest first
	StartS, EndS   float64
	EffectiveCount float64 // effective number of independent points of the residual

	cells *noiseCellsData
}

const (
	noiseCells      = 240
	noiseTauStep    = 1.5  // ratio of neighbouring correlation times
	noiseShareStep  = 3.0  // ratio of neighbouring shares of white noise
	noiseFar        = 30.0 // correlation time, over the record, that stands for a random walk
	noiseNegligible = 1e-4
)

// Prior weights of the kinds of slow part, in units of what an autoregressive
// part with the shortest correlation time gets for one e-fold of it. Chosen, with noiseLevel, so
// that 95 % intervals of slopes cover for white, autoregressive (a 24th of the record),
// flicker and random-walk noise alike; see the coverage test.
const (
	noisePriorWhite   = 10.0
	noisePriorFlicker = 3.0
	noisePriorWalk    = 1.2
)

// FitNoise models the noise of residuals at times t (seconds, not
// decreasing). Weights, if not nil, are zero at readings set aside. Fitted holds the
// columns (derivatives by the constants) of the curve whose residual this is;
// a constant is always taken as fitted.
func FitNoise(t, residual, weights []float64, fitted [][]float64) Noise {
	return fitNoise(newNoiseCells(t, residual, weights, fitted))
}

func fitNoise(c *noiseCellsData) Noise {
	n := Noise{StartS: c.start, EndS: c.end, EffectiveCount: c.effective, cells: c}
	if c.dof() < 1 || !(c.power() > 0) {
		return n
	}
	var models []NoiseModel
	var logs []float64
	for _, f := range c.families() {
		for i, white := range f.white {
			prior := f.prior * noiseSharePrior(i, len(f.white))
			log, scale := c.likelihood(white, f.parts)
			m := NoiseModel{Kind: f.kind, TauS: f.tau, WhiteVar: scale * white, DoF: float64(c.dof())}
			for _, p := range f.parts {
				m.parts = append(m.parts, noisePart{p.Var * scale, p.TauS})
			}
			models = append(models, m)
			logs = append(logs, log+math.Log(prior))
		}
	}
	n.Models = noiseWeigh(models, logs)
	return n
}

// noiseSharePrior gives half the weight to a slow part without white noise, and
// shares the rest among the n − 1 others.
func noiseSharePrior(i, n int) float64 {
	switch {
	case n == 1:
		return 1
	case i == 0:
		return 0.5
	}
	return 0.5 / float64(n-1)
}

// noiseWeigh turns log weights into weights that sum to one, without the
// negligible ones, heaviest first.
func noiseWeigh(models []NoiseModel, logs []float64) []NoiseModel {
	top := math.Inf(-1)
	for _, l := range logs {
		if l > top {
			top = l
		}
	}
	var out []NoiseModel
	sum := 0.0
	for i, m := range models {
		m.Weight = math.Exp(logs[i] - top)
		if m.Weight > noiseNegligible {
			sum += m.Weight
			out = append(out, m)
		}
	}
	for i := range out {
		out[i].Weight /= sum
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Weight > out[j].Weight })
	return out
}

// noiseFamily is white noise plus a slow part of unit variance, for several variances of the white.
type noiseFamily struct {
	kind  NoiseKind
	tau   float64
	parts []noisePart
	white []float64
	prior float64
}

// families lists the covariances tried.
func (c *noiseCellsData) families() []noiseFamily {
	span, h := c.end-c.start, c.spacing
	out := []noiseFamily{{kind: NoiseWhite, white: []float64{1}, prior: noisePriorWhite}}
	for tau := h; tau < span; tau *= noiseTauStep {
		out = append(out, noiseFamily{kind: NoiseCorrelated, tau: tau, parts: []noisePart{{1, tau}}, white: c.shares(h/tau, 1), prior: math.Log(noiseTauStep) * h / tau})
	}
	far := noiseFar * span
	out = append(out, noiseFamily{kind: NoiseRandomWalk, parts: []noisePart{{1, far}}, white: c.shares(h/far, 1/noiseFar), prior: noisePriorWalk})
	var flicker []noisePart
	for tau := h / 2; tau < noiseFar*span; tau *= 3 {
		flicker = append(flicker, noisePart{1, tau})
	}
	return append(out, noiseFamily{kind: NoiseFlicker, parts: flicker, white: c.shares(1, 10), prior: noisePriorFlicker})
}

// shares returns variances of the white part of one reading for a slow part
// whose power within a cell is fine and within the record is coarse.
func (c *noiseCellsData) shares(fine, coarse float64) []float64 {
	out := []float64{0}
	for v := 0.1 * fine; v < 30*coarse; v *= noiseShareStep {
		out = append(out, v*c.perCell)
	}
	return out
}

// heaviest returns the model with the most weight, white of unit variance without any.
func (n Noise) heaviest() NoiseModel {
	if len(n.Models) == 0 {
		return NoiseModel{Kind: NoiseWhite, Weight: 1, WhiteVar: 1}
	}
	return n.Models[0]
}

// without returns the noise as the record shows it apart from a further column
// (a function of time). The uncertainty of a slope must not be judged by the
// very wave that made the slope large.
func (n Noise) without(column func(t float64) float64) Noise {
	if n.cells == nil {
		return n
	}
	c := *n.cells
	v := make([]float64, len(c.t))
	for i, t := range c.t {
		v[i] = column(t)
	}
	c.x = append([][]float64(nil), c.x...)
	c.extend(v)
	if c.dof() < 3 {
		return n
	}
	return fitNoise(&c)
}

// Kind returns the kind of noise with the most weight, or "" without models.
func (n Noise) Kind() NoiseKind {
	sum := map[NoiseKind]float64{}
	best := NoiseKind("")
	for _, m := range n.Models {
		sum[m.Kind] += m.Weight
	}
	for _, k := range []NoiseKind{NoiseWhite, NoiseCorrelated, NoiseFlicker, NoiseRandomWalk} {
		if sum[k] > sum[best] {
			best = k
		}
	}
	return best
}
