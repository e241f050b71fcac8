package stability

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// Jump is a step of the frequency from one reading to the next that the smooth
// course of the record can't explain: a bad joint, a slipping dial, a failing
// mica capacitor.
type Jump struct {
	Index  int     // record index of the first reading after the step
	TimeS  float64 // s since power-on, midway between the two readings
	GapS   float64 // s between the two readings
	SizeHz float64 // after less before
	UHz    float64 // standard uncertainty of the size, from the record's own noise
	DoF    float64
	Sigmas float64 // |size| over what such a step amounts to by chance
	P      float64 // probability of one such step or more in a record without any

	at int // index in the series
}

// Limits of the jump test.
const (
	jumpFalseAlarm = 0.01 // a jump-free record shows one or more with this probability
	jumpFewest     = 12   // readings below which no test is made
	jumpWidest     = 64   // readings averaged on either side at most
	jumpSide       = 3    // readings needed on either side
	jumpMost       = 200  // candidates looked at in one pass
	jumpPasses     = 6
)

// FindJumps lists the jumps of f (Hz) at times t (s since power-on); breaks are
// the indices after gaps. trend, where not nil, is taken off first.
//
// The test: for w = 1, 2, 4 ... 64 readings the mean of w readings less the
// mean of the w before them is compared with what the record itself shows for
// the same w: less its local median, over the larger of the local and the whole
// record's median absolute deviation (so that noise of any correlation, white
// to random walk, sets its own scale), by Student's t at the level
// 0.01/(readings × widths), Bonferroni's bound on one false jump in a hundred
// records. A candidate must also stay: the medians of three readings, and lines
// through the readings on either side, must show at least half of it at that
// very place; so neither a wild reading nor a steep bend is a jump. Jumps found
// are taken out and the test repeated.
func FindJumps(t, f []float64, breaks []int, trend Trend, resolutionHz float64) []Jump {
	if len(t) < jumpFewest {
		return nil
	}
	s := newJmpSearch(t, f, breaks, trend, resolutionHz)
	var found []Jump
	for pass := 0; pass < jumpPasses; pass++ {
		more := s.pass()
		if len(more) == 0 {
			break
		}
		found = append(found, more...)
	}
	sort.Slice(found, func(i, j int) bool { return found[i].at < found[j].at })
	return jmpMerged(found)
}

// jmpMerged joins jumps found in several passes at one place, or within two
// readings of each other, into what stays of them: out and back at once is no jump.
func jmpMerged(in []Jump) []Jump {
	var out []Jump
	for _, j := range in {
		n := len(out)
		if n == 0 || j.at-out[n-1].at > 2 {
			out = append(out, j)
			continue
		}
		last := &out[n-1]
		sum, larger := last.SizeHz+j.SizeHz, math.Max(math.Abs(last.SizeHz), math.Abs(j.SizeHz))
		if math.Abs(sum) < larger/2 {
			out = out[:n-1]
			continue
		}
		if math.Abs(j.SizeHz) > math.Abs(last.SizeHz) {
			*last = j
		}
		last.SizeHz = sum
		last.Sigmas = math.Abs(sum) / last.UHz
	}
	return out
}

// Steps returns the jumps as steps for [FitWarmUp] and [FitResidualDrift].
func Steps(jumps []Jump) []Step {
	var out []Step
	for _, j := range jumps {
		out = append(out, Step{AtS: j.TimeS, SizeHz: j.SizeHz, UHz: j.UHz})
	}
	return out
}

// jmpSearch is the state of the search; r is what jumps are still in.
type jmpSearch struct {
	t, r       []float64
	sum        []float64 // prefix sums of r
	gap        []bool
	h          float64
	resolution float64
	quiet      bool // readings move by less than a count from one to the next
	widths     []int
}

func newJmpSearch(t, f []float64, breaks []int, trend Trend, resolution float64) *jmpSearch {
	s := &jmpSearch{t: t, r: make([]float64, len(f)), gap: make([]bool, len(f)), h: MedianSpacing(t), resolution: resolution}
	for i := range f {
		s.r[i] = f[i] - f[0]
		if trend != nil {
			s.r[i] = f[i] - trend.At(t[i])
		}
	}
	for _, b := range breaks {
		s.gap[b] = true
	}
	step := make([]float64, len(s.r)-1)
	for i := range step {
		step[i] = s.r[i+1] - s.r[i]
	}
	s.quiet = jmpSpread(step, 0) < s.resolution
	for w := 1; w <= jumpWidest && (w == 1 || w <= len(t)/24); w *= 2 {
		s.widths = append(s.widths, w)
	}
	return s
}

// jmpCandidate is a place where the step at one width stands out.
type jmpCandidate struct {
	i, w             int
	size, u, nu, rel float64 // rel: size over its critical value
}

// pass finds jumps that lie well apart, takes them out of r and returns them.
func (s *jmpSearch) pass() []Jump {
	s.sum = make([]float64, len(s.r)+1)
	for i, v := range s.r {
		s.sum[i+1] = s.sum[i] + v
	}
	var all []jmpCandidate
	for _, w := range s.widths {
		all = append(all, s.candidates(w)...)
	}
	sort.Slice(all, func(a, b int) bool { return all[a].rel > all[b].rel })
	var found []Jump
	for k, c := range all {
		if k >= jumpMost {
			break
		}
		if c = s.placed(c); jmpNear(found, c) || !s.stays(c) {
			continue
		}
		found = append(found, s.jump(c))
	}
	for _, j := range found {
		for k := j.at; k < len(s.r); k++ {
			s.r[k] -= j.SizeHz
		}
	}
	return found
}

// jmpNear says whether a jump of this pass could have made candidate c too.
func jmpNear(found []Jump, c jmpCandidate) bool {
	for _, j := range found {
		if d := j.at - c.i; d > -2*jumpWidest && d < 2*jumpWidest {
			return true
		}
	}
	return false
}

func (s *jmpSearch) mean(a, b int) float64 { return (s.sum[b] - s.sum[a]) / float64(b-a) }

// candidates compares the steps of width w with one another.
func (s *jmpSearch) candidates(w int) []jmpCandidate {
	step, at := s.steps(w)
	if len(step) < jumpFewest/2 {
		return nil
	}
	excess, local := jmpLevelled(step, max(64, 16*w))
	whole := jmpSpread(excess, s.resolution)
	nu := math.Max(3, 0.37*float64(len(step))/float64(w))
	crit := jmpCritical(len(s.t)*len(s.widths), nu)
	floor := math.Max(s.rounding(), 1e-12*math.Abs(s.r[0]))
	var out []jmpCandidate
	for k, i := range at {
		u := math.Max(math.Max(local[k], whole), floor)
		if dt := s.t[i] - s.t[i-1]; s.h > 0 && dt > s.h {
			u *= math.Sqrt(dt / s.h)
		}
		if rel := math.Abs(excess[k]) / (crit * u); rel > 1 {
			out = append(out, jmpCandidate{i, w, excess[k], u, nu, rel})
		}
	}
	return out
}

// steps returns the mean of readings i to i+w-1 less that of the w before,
// for all i where no gap lies among them but at i itself.
func (s *jmpSearch) steps(w int) (step []float64, at []int) {
	gaps := 0 // among the boundaries i-w+1 .. i+w-1
	n := len(s.t)
	for b := 1; b < 2*w && b < n; b++ {
		if s.gap[b] {
			gaps++
		}
	}
	for i := w; i+w <= n; i++ {
		here := 0
		if s.gap[i] {
			here = 1
		}
		if gaps == here {
			step = append(step, s.mean(i, i+w)-s.mean(i-w, i))
			at = append(at, i)
		}
		if s.gap[i-w+1] {
			gaps--
		}
		if i+w < n && s.gap[i+w] {
			gaps++
		}
	}
	return step, at
}

// jmpLevelled takes the local median off v and returns the local standard
// deviation beside it, both from blocks of about the given length and the two
// blocks next to each.
func jmpLevelled(v []float64, block int) (excess, spread []float64) {
	n := len(v)
	excess, spread = make([]float64, n), make([]float64, n)
	blocks := max(1, n/block)
	edge := func(b int) int { return min(max(b, 0), blocks) * n / blocks }
	for b := 0; b < blocks; b++ {
		near := append([]float64(nil), v[edge(b-1):edge(b+2)]...)
		mid := recMedian(near)
		for k := range near {
			near[k] = math.Abs(near[k] - mid)
		}
		sd := 1.4826 * recMedian(near)
		for k := edge(b); k < edge(b+1); k++ {
			excess[k], spread[k] = v[k]-mid, sd
		}
	}
	return excess, spread
}

// jmpSpread is the standard deviation of v by its median absolute value. Where
// that is no more than two counts, most steps are none or one count and the
// median sees nothing of the rest: then it is no less than the root mean square
// of the smaller nine tenths (which is 1/1.267 of σ in normal noise).
func jmpSpread(v []float64, count float64) float64 {
	a := make([]float64, len(v))
	for i, x := range v {
		a[i] = math.Abs(x)
	}
	sd := 1.4826 * recMedian(a)
	if sd > 2*count {
		return sd
	}
	sum, n := 0.0, (9*len(a)+9)/10
	for _, x := range a[:n] { // sorted by now
		sum += x * x
	}
	return math.Max(sd, 1.267*math.Sqrt(sum/float64(n)))
}

// rounding is what rounding alone makes of a step: the difference of two rounded
// readings has a standard deviation of 0.41 counts, if noise of a count or more
// has the rounding differ from reading to reading. A quiet record moves by whole
// counts, so that two counts at once are nothing yet.
func (s *jmpSearch) rounding() float64 {
	if s.quiet {
		return 0.6 * s.resolution
	}
	return 0.41 * s.resolution
}

// jmpCritical is the two-sided critical value of Student's t for the given
// number of looks.
func jmpCritical(looks int, nu float64) float64 {
	return -distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(jumpFalseAlarm / 2 / float64(looks))
}

// jmpOffsets returns what the jumps still to come will add to each of n
// readings, less those that came: readings plus it are at the level of the last.
func jmpOffsets(jumps []Jump, n int) []float64 {
	off := make([]float64, n)
	for _, j := range jumps {
		for k := 0; k < j.at && k < n; k++ {
			off[k] += j.SizeHz
		}
	}
	return off
}
