package stability

import "math"

// Widths of the smoothing of figures.md, "Drift".
const (
	smoothWidthS   = 30.0 // width of the local line, s
	smoothReadings = 5    // or so many readings, whichever is longer; also of the median
	smoothFewest   = 30   // records shorter than this are taken as they are
)

// Smoothed is a record with its noise taken down but its course kept.
type Smoothed struct {
	TimeS       []float64 // s since power-on
	FrequencyHz []float64
	UHz         []float64 // standard uncertainty from the noise
	Itself      []bool    // true where the value is the reading itself
	Index       []int     // of the reading in the record
}

// Sparse says whether the readings are so few that the course between two of
// them is not known: fewer than 30 in all.
func (s Smoothed) Sparse() bool { return len(s.TimeS) < smoothFewest }

// Smooth returns the local median of 5 readings, then the local line over 30 s
// or 5 readings, whichever is longer, evaluated at each reading. Neither
// crosses a break (breaks are indices at which a new piece begins: after a gap
// or a jump), nor is wider than a tenth of shortestTauS, the shortest time
// constant present in s (0: none known); that limit wins. Where fewer than 3
// readings fall within the window, or the record has fewer than 30, the
// readings themselves are returned. Windows are symmetric in time; the median
// narrows towards the ends of a piece, so that a steep start is not flattened.
//
// t (s, never decreasing) and f (Hz) have equal length.
func Smooth(t, f []float64, breaks []int, shortestTauS float64) Smoothed {
	p := newSmPlan(t, breaks, shortestTauS)
	out := make([]float64, len(f))
	p.apply(f, out)
	itself := make([]bool, len(t))
	for i, w := range p.win {
		itself[i] = w.hi-w.lo < 3
	}
	return Smoothed{TimeS: t, FrequencyHz: out, UHz: make([]float64, len(t)), Itself: itself}
}

// smWindow is what the smoothing of one reading needs and does not depend on
// frequency: the readings lo to hi-1 of the line, the half width of the median.
type smWindow struct {
	lo, hi, med  int
	mean, sxx, x float64 // mean time, Σ(t-mean)², time of the reading less mean
}

// smPlan smooths many series on the same times.
type smPlan struct {
	t    []float64
	win  []smWindow
	tmp  []float64
	none bool
}

func newSmPlan(t []float64, breaks []int, tau float64) *smPlan {
	p := &smPlan{t: t, win: make([]smWindow, len(t)), tmp: make([]float64, len(t))}
	p.none = len(t) < smoothFewest
	if p.none {
		return p
	}
	start := 0
	for _, end := range append(append([]int(nil), breaks...), len(t)) {
		p.planPiece(start, end, tau)
		start = end
	}
	return p
}

// planPiece lays the windows of the readings a to b-1.
func (p *smPlan) planPiece(a, b int, tau float64) {
	lo, hi := a, a
	for i := a; i < b; i++ {
		half := p.halfWidth(a, b, i, tau) * (1 + 1e-9)
		for lo < i && p.t[i]-p.t[lo] > half {
			lo++
		}
		for lo > a && p.t[i]-p.t[lo-1] <= half {
			lo--
		}
		hi = max(hi, i+1)
		for hi < b && p.t[hi]-p.t[i] <= half {
			hi++
		}
		for hi > i+1 && p.t[hi-1]-p.t[i] > half {
			hi--
		}
		p.win[i] = p.window(lo, hi, i)
		p.win[i].med = p.medianHalf(a, b, i, tau)
	}
}

// halfWidth is half of 30 s, or as far as the second neighbour on the farther
// side, but no more than a twentieth of the time constant.
func (p *smPlan) halfWidth(a, b, i int, tau float64) float64 {
	const k = smoothReadings / 2
	half := smoothWidthS / 2
	if i-k >= a {
		half = math.Max(half, p.t[i]-p.t[i-k])
	}
	if i+k < b {
		half = math.Max(half, p.t[i+k]-p.t[i])
	}
	if tau > 0 {
		half = math.Min(half, tau/20)
	}
	return half
}

// medianHalf is the number of readings on either side that the median takes.
func (p *smPlan) medianHalf(a, b, i int, tau float64) int {
	m := min(smoothReadings/2, i-a, b-1-i)
	for m > 0 && tau > 0 && p.t[i+m]-p.t[i-m] > tau/10*(1+1e-9) {
		m--
	}
	return m
}

func (p *smPlan) window(lo, hi, i int) smWindow {
	w := smWindow{lo: lo, hi: hi}
	for k := lo; k < hi; k++ {
		w.mean += p.t[k] - p.t[i]
	}
	w.mean /= float64(hi - lo)
	for k := lo; k < hi; k++ {
		d := p.t[k] - p.t[i] - w.mean
		w.sxx += d * d
	}
	w.x = -w.mean
	w.mean += p.t[i]
	return w
}

// apply smooths f into out, which must not be f.
func (p *smPlan) apply(f, out []float64) {
	if p.none {
		copy(out, f)
		return
	}
	for i := range f {
		p.tmp[i] = smMedian(f, i, p.win[i].med)
	}
	for i, w := range p.win {
		if w.hi-w.lo < 3 {
			out[i] = f[i]
			continue
		}
		sum, cross, ref := 0.0, 0.0, p.tmp[i]
		for k := w.lo; k < w.hi; k++ {
			d := p.tmp[k] - ref
			sum += d
			cross += d * (p.t[k] - w.mean)
		}
		out[i] = ref + sum/float64(w.hi-w.lo)
		if w.sxx > 0 {
			out[i] += w.x * cross / w.sxx
		}
	}
}

// smMedian is the median of f[i-m..i+m], m at most 2.
func smMedian(f []float64, i, m int) float64 {
	switch m {
	case 0:
		return f[i]
	case 1:
		return smMedian3(f[i-1], f[i], f[i+1])
	}
	a, b, c, d, e := f[i-2], f[i-1], f[i], f[i+1], f[i+2]
	// The median of five is the median of c, the larger of the two lower and
	// the smaller of the two upper ends of two pairs.
	if a > b {
		a, b = b, a
	}
	if d > e {
		d, e = e, d
	}
	return smMedian3(c, math.Max(a, d), math.Min(b, e))
}

func smMedian3(a, b, c float64) float64 {
	return math.Max(math.Min(a, b), math.Min(math.Max(a, b), c))
}

// smMedianGain is the loss of the median of five in front of the line: the
// standard deviation after both over that after the line alone, for white
// normal noise. It is 0.91 to 1.11 by simulation, least where the line is short.
const smMedianGain = 1.08

// uncertainty returns the standard uncertainty of smoothed point i under the
// given noise: readings scatter by the white part, which the line averages, and
// the slow parts by as much as they change within its window. What wanders over
// longer than the record is the course itself, not noise about it.
func (p *smPlan) uncertainty(i int, white float64, slow []noisePart) float64 {
	w := p.win[i]
	n := w.hi - w.lo
	if p.none || n < 3 {
		v := white
		for _, part := range slow {
			v += part.Var
		}
		return math.Sqrt(v)
	}
	gain := 1 / float64(n)
	if w.sxx > 0 {
		gain += w.x * w.x / w.sxx
	}
	v := white * math.Min(1, gain*smMedianGain*smMedianGain)
	span := p.t[w.hi-1] - p.t[w.lo]
	for _, part := range slow {
		v += part.Var * smAveraged(span/part.TauS)
	}
	return math.Sqrt(v)
}

// smAveraged is the variance of the mean over x correlation times of noise of
// unit variance that forgets itself exponentially: 2/x − 2(1 − exp(−x))/x².
func smAveraged(x float64) float64 {
	if x < 1e-3 {
		return 1
	}
	return 2/x - 2*(1-math.Exp(-x))/(x*x)
}
