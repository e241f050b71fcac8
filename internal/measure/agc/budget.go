package agc

import (
	"math"
	"math/rand/v2"

	"setwright/quantity"
)

// draws is how often the readings are drawn anew to see what their noise does to
// a figure; the generator is seeded, so that a run gives the same digits always.
const draws = 200

// sample is a set of readings with the curve through them.
type sample struct {
	x, y []float64
	c    curve
}

// figureOf computes one figure from a sample; ok is false where it has none.
type figureOf func(s sample) (x float64, ok bool)

// budget says what the uncertainty of static figures is made of: the noise of
// the output readings and the error of each attenuator setting, by drawing both
// anew about the fitted curve, and the error that all levels share.
type budget struct {
	best        sample
	noise, step []sample
	level       []commonLevel
	sources     sources
	dof         float64
}

// commonLevel is an error that all input levels of one generator share.
type commonLevel struct {
	quantity.Source
	u float64 // dB
}

// newBudget draws the samples.
func newBudget(s *static, stepU float64, src sources) *budget {
	x, y := columnsOf(s.readings)
	b := &budget{best: sample{x, y, s.curve}, sources: src, level: src.levels, dof: s.dof}
	rng := rand.New(rand.NewPCG(0x5e7, uint64(len(x))))
	on := make([]float64, len(x)) // the readings as the curve has them
	for i := range x {
		on[i] = s.curve.at(x[i])
	}
	for range draws {
		ys := make([]float64, len(x))
		for i := range ys {
			ys[i] = on[i] + s.sigma*rng.NormFloat64()
		}
		b.noise = append(b.noise, sample{x, ys, fitCurve(x, ys)})
		b.step = append(b.step, drawSteps(rng, x, on, stepU))
	}
	return b
}

// drawSteps moves every level of input by an error of its own; readings at one
// level move together.
func drawSteps(rng *rand.Rand, x, y []float64, u float64) sample {
	xs := make([]float64, len(x))
	moved, level := 0.0, math.Inf(-1)
	for i := range x {
		if x[i]-level >= 0.05 {
			level, moved = x[i], u*rng.NormFloat64()
		}
		xs[i] = x[i] + moved
		if i > 0 && xs[i] < xs[i-1] { // keeps its place in the order
			xs[i] = xs[i-1]
		}
	}
	return sample{xs, y, fitCurve(xs, y)}
}

// value is a figure of the readings with what its uncertainty is made of; ok is
// false where the readings have none.
func (b *budget) value(f figureOf) (quantity.Value, bool) {
	x, ok := f(b.best)
	if !ok {
		return quantity.Undefined(), false
	}
	v := quantity.New(x, b.sources.part(b.sources.noise, spread(b.noise, f), b.dof), b.sources.part(b.sources.step, spread(b.step, f), 0))
	for _, l := range b.level {
		up, ok1 := f(b.best.shifted(l.u))
		down, ok2 := f(b.best.shifted(-l.u))
		if ok1 && ok2 {
			v = v.With(quantity.Contribution{Source: l.Source, C: (up - down) / 2})
		}
	}
	return v, true
}

// shifted is the sample with all its levels higher by d.
func (s sample) shifted(d float64) sample {
	move := func(x []float64) []float64 {
		out := make([]float64, len(x))
		for i := range x {
			out[i] = x[i] + d
		}
		return out
	}
	return sample{move(s.x), s.y, curve{move(s.c.x), s.c.y}}
}

// spread is the standard deviation of a figure over samples; those that have
// none do not count.
func spread(all []sample, f figureOf) float64 {
	var n, mean, sum float64
	for _, s := range all {
		x, ok := f(s)
		if !ok || math.IsNaN(x) {
			continue
		}
		n++
		d := x - mean
		mean += d / n
		sum += d * (x - mean)
	}
	if n < 2 {
		return 0
	}
	return math.Sqrt(sum / (n - 1))
}

// heights are the 95 % limits of the curve at an input, for the picture.
func (b *budget) heights(x float64) (lo, hi float64) {
	k := quantity.Coverage(0.95, math.Inf(1))
	u := math.Hypot(spread(b.noise, func(s sample) (float64, bool) { return s.c.at(x), true }),
		spread(b.step, func(s sample) (float64, bool) { return s.c.at(x), true }))
	y := b.best.c.at(x)
	return y - k*u, y + k*u
}
