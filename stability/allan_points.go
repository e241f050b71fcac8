package stability

import (
	"errors"
	"fmt"
	"math"
)

// ErrAveraging is the cause when a deviation cannot be had at an averaging
// factor: the message says how many points that would take.
var ErrAveraging = errors.New("averaging time does not fit the record")

// DeviationOptions are the wishes of a caller of [DeviationsOf].
type DeviationOptions struct {
	Kinds   []Kind    // nil: overlapping Allan
	Factors []int     // averaging factors m; nil: [Octaves] for each kind
	Level   float64   // confidence of the intervals; 0: 0.95
	Noise   *PowerLaw // nil: identified from the record at each factor
}

// Deviations gives one kind of deviation at the averaging factors m = tau/tau0
// named, or at [Octaves] where none is named, with 95 % intervals.
//
// The interval is that of chi-squared with the equivalent degrees of freedom
// of the estimator in the noise found ([Deviation.Noise]). Where the record has
// gaps, only differences whose whole span is present are used; N counts them,
// and the degrees of freedom are those of just these terms.
//
// Errors have [ErrAveraging] as cause.
func Deviations(kind Kind, p Phase, factors ...int) ([]Deviation, error) {
	d, err := DeviationsOf(p, DeviationOptions{Kinds: []Kind{kind}, Factors: factors})
	if err != nil {
		return nil, err
	}
	return d[0], nil
}

// DeviationsOf gives several kinds in one walk over the record per averaging
// factor; the result has one list per kind asked for, in that order. The walks
// use the processors there are; the digits do not depend on how many.
func DeviationsOf(p Phase, o DeviationOptions) ([][]Deviation, error) {
	if len(o.Kinds) == 0 {
		o.Kinds = []Kind{KindOverlappingAllan}
	}
	if o.Level == 0 {
		o.Level = 0.95
	}
	if !(o.Level > 0 && o.Level < 1) {
		return nil, fmt.Errorf("confidence level %v; expected a number between 0 and 1", o.Level)
	}
	if a := o.Noise; a != nil && (*a < RandomRun || *a > WhitePM) {
		return nil, fmt.Errorf("noise exponent %d; expected -4 to 2", int(*a))
	}
	j := devJob{p: p, o: o, passes: map[int]*devPass{},
		noise: [4]*noiseFinder{2: newNoiseFinder(p, 2), 3: newNoiseFinder(p, 3)}}
	if err := j.plan(); err != nil {
		return nil, err
	}
	j.run()
	out := make([][]Deviation, len(o.Kinds))
	for i, k := range o.Kinds {
		out[i] = make([]Deviation, 0, len(j.factors[i]))
		for _, m := range j.factors[i] {
			out[i] = append(out[i], j.point(k, m))
		}
	}
	return out, nil
}

// Octaves are the averaging factors 1, 2, 4 ... at which a kind still has
// enough independent terms in the longest stretch for an interval that says
// something: up to a fifth of its length for the Allan kinds, a sixth for those
// that reach over three averages, a third for the total kinds (the same limits
// as the published octave tables of the 1000-point set).
func Octaves(p Phase, k Kind) []int {
	share := 5
	switch {
	case k.total():
		share = 3
	case k.modified() || k.differences() == 3:
		share = 6
	}
	var factors []int
	for m := 1; m*share <= p.Longest()-1; m *= 2 {
		factors = append(factors, m)
	}
	return factors
}

// devTerms is how many differences a stretch of n phase points gives.
func (k Kind) devTerms(n, m int) int {
	switch k {
	case KindAllan:
		n = (n-1)/m - 1
	case KindHadamard:
		n = (n-1)/m - 2
	case KindOverlappingAllan:
		n -= 2 * m
	case KindTotal:
		if m >= n {
			return 0
		}
		n -= 2
	case KindOverlappingHadamard, KindHadamardTotal:
		n -= 3 * m
	default:
		n -= 3*m - 1
	}
	return max(0, n)
}

// point puts together one point of the result.
func (j *devJob) point(k Kind, m int) Deviation {
	tau := float64(m) * j.p.tau0S
	d := Deviation{Kind: k, TauS: tau, M: m, Level: j.o.Level, Bias: 1}
	found := j.noiseAt(k, m)
	d.Noise, d.NoiseBy, d.NoiseM = found.alpha, found.by, found.m
	var mean float64
	if k.total() {
		var s devSum
		s, d.Bias = j.totalSum(k, m, d.Noise)
		mean, d.N = s.mean()/d.Bias, s.terms
	} else {
		s := j.sum(k, m)
		mean, d.N = s.mean(), s.terms
	}
	d.Value = k.scale(mean, tau)
	d.EDF = j.edf(k, m, d.Noise)
	d.Lo, d.Hi = chiSquaredLimits(d.Value, d.EDF, d.Level)
	return d
}

func (j *devJob) noiseAt(k Kind, m int) noiseFound {
	if j.o.Noise != nil {
		return noiseFound{*j.o.Noise, NoiseGiven, m}
	}
	return j.noise[k.differences()].at(m)
}

func (j *devJob) sum(k Kind, m int) devSum {
	switch k {
	case KindOverlappingAllan:
		return j.passes[m].allan
	case KindOverlappingHadamard:
		return j.passes[m].hada
	case KindAllan, KindHadamard:
		var s devSum
		for _, x := range j.p.segments {
			s = s.plus(devStrided(x, m, k.differences()))
		}
		return s
	}
	s := j.passes[m].mod
	s.sum /= float64(m) * float64(m)
	return s
}

// totalSum is the sum of a total kind before its bias is taken out, and the
// bias: where gaps make several stretches, that of their sum.
func (j *devJob) totalSum(k Kind, m int, alpha PowerLaw) (devSum, float64) {
	var s devSum
	corrected := 0.0
	for _, x := range j.p.segments {
		part := devTotalOf(k, x, m)
		s = s.plus(part)
		if part.terms > 0 {
			corrected += part.sum / totalBias(k, alpha, m, len(x))
		}
	}
	if corrected == 0 {
		return s, 1
	}
	return s, s.sum / corrected
}

func devTotalOf(k Kind, x []float64, m int) devSum {
	switch {
	case k == KindTotal:
		return devReflected(x, m)
	case k == KindHadamardTotal && m == 1:
		q := devPass{m: m}
		q.walk(x)
		return q.hada
	case k == KindHadamardTotal:
		return devFrequencyRuns(x, m)
	}
	return devRuns(x, m)
}

func (s devSum) plus(t devSum) devSum {
	return devSum{s.sum + t.sum, s.terms + t.terms}
}

// edf is the degrees of freedom of kind k over the stretches of the record.
func (j *devJob) edf(k Kind, m int, alpha PowerLaw) float64 {
	var points, runs []int
	parent := k.parent()
	for _, x := range j.p.segments {
		if k.devTerms(len(x), m) > 0 {
			points = append(points, len(x))
		}
		if n := parent.devTerms(len(x), m); n > 0 {
			runs = append(runs, n)
		}
	}
	edf := 0.0
	if len(runs) > 0 {
		edf = parent.edfShape(m, alpha).edf(runs)
	}
	if k.total() {
		edf = totalEDF(k, alpha, m, points, edf)
	}
	return math.Max(edf, devLeastEDF)
}

// devLeastEDF is given where a total kind reaches so far beyond its parent that
// no formula holds: the interval is then as good as open. Sums of differences
// never have less than one degree of freedom.
const devLeastEDF = 1

// edfShape is the covariance of the differences of a kind that is not total.
func (k Kind) edfShape(m int, alpha PowerLaw) edfShape {
	e := edfShape{alpha: alpha, d: k.differences(), f: m, s: m}
	if k.modified() {
		e.f = 1
	}
	if k == KindAllan || k == KindHadamard {
		e.s = 1
	}
	// Beyond -2 (Allan) or -4 (Hadamard) the variance does not converge.
	e.alpha = max(e.alpha, PowerLaw(2-2*e.d))
	return e
}
