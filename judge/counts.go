package judge

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"setwright/quantity"
)

// total is the count of one side with the exposure it was found in, in runs (or
// in the unit of the observations' Exposure).
type total struct{ k, exposure float64 }

func (t total) rate() float64 { return t.k / t.exposure }

func sum(es []entry) total {
	var t total
	for _, e := range es {
		t.k += e.count
		t.exposure += e.exposure()
	}
	return t
}

func (e entry) exposure() float64 {
	if e.Exposure > 0 {
		return e.Exposure
	}
	return 1
}

// crowded reports whether the counts of a side scatter more from run to run
// than chance events would (index of dispersion, χ² at 5 %): then they are
// judged as numbers, with the scatter that they show. So are single runs where
// the scatter is known from repeats.
func (v *Verdict) crowded(as, bs []entry, opt Options) bool {
	if opt.KnownScatter.usable() && (len(as) < 2 || len(bs) < 2) {
		return true // a single run, and known how counts scatter
	}
	for i, es := range [2][]entry{as, bs} {
		if len(es) < 2 || !equalExposure(es) || dispersion(es) >= alpha {
			continue
		}
		if len(as) < 2 || len(bs) < 2 {
			return false
		}
		v.say(fmt.Sprintf("The counts of %s vary more from run to run than chance events do, so they are judged by that scatter.", [2]string{v.NameA, v.NameB}[i]))
		return true
	}
	return false
}

func equalExposure(es []entry) bool {
	for _, e := range es {
		if e.exposure() != es[0].exposure() {
			return false
		}
	}
	return true
}

// dispersion returns the p of Σ(k − k̄)²/k̄ against χ² with n − 1 degrees.
func dispersion(es []entry) float64 {
	x := make([]float64, len(es))
	for i, e := range es {
		x[i] = e.count
	}
	m := mean(x)
	if m == 0 {
		return 1
	}
	n := float64(len(x) - 1)
	return distuv.ChiSquared{K: n}.Survival(variance(x) * n / m)
}

// compareCounts judges counts as chance events of a constant rate (Poisson): the
// difference by the exact conditional test (given k_a + k_b, k_b is binomial),
// the amount by exact one-sided limits of either rate joined as in
// [rateLimits]. A single run on a side is no better here than elsewhere.
func (v Verdict) compareCounts(as, bs []entry, c Criterion, opt Options) Verdict {
	a, b := sum(as), sum(bs)
	v.A = rateValue(a, v.NameA, c.Figure)
	v.B = rateValue(b, v.NameB, c.Figure)
	v.Difference = v.B.Sub(v.A)
	v.AForm, v.BForm, v.DifferenceForm = quantity.Known(v.A), quantity.Known(v.B), quantity.Known(v.Difference)
	v.Budget = v.Difference.Budget()
	v.Matters = c.Matters
	if c.Relative {
		v.Matters = c.Matters * (a.rate() + b.rate()) / 2
	}
	lo, hi := rateLimits(a, b, 0.025)
	v.CI95 = &[2]float64{lo, hi}
	if len(as) < 2 || len(bs) < 2 {
		v.say("With a single run on a side it is not known whether the count changes from run to run by more than chance.")
		v.say(fmt.Sprintf("As it stands, %s has %s and %s %s.", v.NameA, countWords(a), v.NameB, countWords(b)))
		v.Needed = needForScatter(len(as), len(bs), [2]string{v.NameA, v.NameB})
		if !opt.NoNeeded {
			v.say(v.Needed.Sentence)
		}
		return v
	}
	v.Tested = true
	v.statements = countStatements(a, b, v.Matters)
	v.settle()
	v.say(fmt.Sprintf("%s has %s, %s has %s; judged as chance events (Poisson).", v.NameA, countWords(a), v.NameB, countWords(b)))
	if !opt.NoNeeded {
		v.Needed = neededCounts(v, as, bs, opt, alpha)
		v.say(v.Needed.Sentence)
	}
	return v
}

func countWords(t total) string {
	return fmt.Sprintf("%s in %s", amount(t.k, ""), amount(t.exposure, ""))
}

// rateValue is the rate with the standard uncertainty √k of a count; for no
// events that of one.
func rateValue(t total, name, figure string) quantity.Value {
	key := quantity.SourceKey{Kind: quantity.FromSet, Of: name, Quantity: figure, Cell: "counting"}
	u := math.Sqrt(math.Max(t.k, 1)) / t.exposure
	return quantity.New(t.rate(), quantity.Contribution{Source: key.Source("counting, "+name, 0), C: u})
}

// countStatements tests the three statements on two counts.
func countStatements(a, b total, matters float64) statements {
	s := statements{way: sign(b.rate() - a.rate()), real: conditionalP(a, b)}
	s.large = 2 * limitP(func(tail float64) bool {
		lo, hi := rateLimits(a, b, tail)
		return lo > matters || hi < -matters
	})
	s.large = math.Max(math.Min(s.large, 1), s.real)
	s.tost.Lower = limitP(func(tail float64) bool { lo, _ := rateLimits(a, b, tail); return lo > -matters })
	s.tost.Upper = limitP(func(tail float64) bool { _, hi := rateLimits(a, b, tail); return hi < matters })
	s.tost.Holds = s.small() < alpha
	return s
}

func sign(x float64) float64 {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// limitP returns the smallest tail at which a limit still shows what is asked,
// by bisection; 0.5 at most is looked at, beyond it the answer is 1.
func limitP(shown func(tail float64) bool) float64 {
	if !shown(0.5) {
		return 1
	}
	lo, hi := 0.0, 0.5
	for range 40 {
		if mid := (lo + hi) / 2; shown(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// conditionalP returns the two-sided p of equal rates: twice the smaller tail of
// the binomial of k_b among k_a + k_b (Przyborowski and Wilenski, Biometrika 31
// (1940) 313-323; from memory).
func conditionalP(a, b total) float64 {
	n, share := a.k+b.k, b.exposure/(a.exposure+b.exposure)
	if n == 0 {
		return 1
	}
	dist := distuv.Binomial{N: n, P: share}
	low := dist.CDF(b.k)
	high := 1.0
	if b.k > 0 {
		high = 1 - dist.CDF(b.k-1)
	}
	return math.Min(1, 2*math.Min(low, high))
}

// poissonLimits returns the exact one-sided limits of an expected count, each
// missed with chance tail (Garwood, Biometrika 28 (1936) 437-442; from memory):
// χ²(tail; 2k)/2 and χ²(1 − tail; 2k + 2)/2.
func poissonLimits(k, tail float64) (lo, hi float64) {
	if k > 0 {
		lo = distuv.ChiSquared{K: 2 * k}.Quantile(tail) / 2
	}
	return lo, distuv.ChiSquared{K: 2*k + 2}.Quantile(1-tail) / 2
}

// rateLimits joins the limits of two rates into limits of b − a: distances of
// either limit from its estimate add in squares (the method of variance
// estimates recovery: Zou and Donner, Statist. Med. 27 (2008) 1693-1702; from
// memory).
func rateLimits(a, b total, tail float64) (lo, hi float64) {
	d := b.rate() - a.rate()
	al, ah := poissonLimits(a.k, tail)
	bl, bh := poissonLimits(b.k, tail)
	lo = d - math.Hypot((b.k-bl)/b.exposure, (ah-a.k)/a.exposure)
	hi = d + math.Hypot((bh-b.k)/b.exposure, (a.k-al)/a.exposure)
	return lo, hi
}

// neededCounts looks for the number of runs a side that decides, if the rates
// are what they look like: by the normal approximation to the counts.
func neededCounts(v Verdict, as, bs []entry, opt Options, level float64) Needed {
	if v.Word.Firm() {
		return Needed{Decided: true, Sentence: "No more runs are needed."}
	}
	chance := outlook.anyWord
	if v.Word != CannotTell {
		chance = outlook.firmWord
	}
	a, b := sum(as), sum(bs)
	for more := 1; more <= opt.maxMore(); more++ {
		ga, gb := grown(a, len(as), more), grown(b, len(bs), more)
		u := math.Hypot(math.Sqrt(math.Max(ga.k, 1))/ga.exposure, math.Sqrt(math.Max(gb.k, 1))/gb.exposure)
		o := outlook{truth: math.Abs(v.Difference.Estimate()), margin: v.Matters, u: u, dof: math.Inf(1), level: level}
		if p := chance(o); p >= powerAim {
			need := Needed{MoreA: more, MoreB: more, Chance: p, Basis: "counts as chance events, normal approximation, rates as found so far, 80 % chance"}
			need.Sentence = "If things are as they look so far, " + need.words([2]string{v.NameA, v.NameB}) + " would decide it."
			return need
		}
	}
	return Needed{MoreA: opt.maxMore(), MoreB: opt.maxMore(), Never: true,
		Sentence: fmt.Sprintf("More than %d further runs a side would be needed: this bench will not decide it.", opt.maxMore())}
}

// grown is the total expected after more runs like those so far.
func grown(t total, runs, more int) total {
	f := float64(runs+more) / float64(runs)
	return total{t.k * f, t.exposure * f}
}
