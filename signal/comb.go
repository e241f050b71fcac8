package signal

import (
	"context"
	"math"
)

// comb is what a search for a line frequency by its harmonics together found.
type comb struct {
	hz    float64
	score float64
	found bool
}

// combBlockS is the length in seconds of the blocks that the search looks at:
// the tenth harmonic of a supply that wanders by 0.01 Hz stays in one bin.
const combBlockS = 4

// A comb is believed when the likelihood that its lines rise above the noise
// exceeds combEnough (about thirty thousand combs are tried; noise alone reaches
// 18 once in some thousand searches by simulation), with a line of its first or
// second harmonic of combOne, or of combTwo and another line of that: every
// supply shows in one of them, and the sidebands of keying do not.
const (
	combEnough = 18
	combOne    = 14
	combTwo    = 7
	combMost   = 60 // no single line counts more
)

// combSearch looks for a comb between from and to hertz in the average spectrum
// p of k blocks, bins df apart. Lines near one of avoid are not counted.
func combSearch(p []float64, df float64, k float64, from, to float64, harmonics int, avoid []float64) comb {
	excess := combExcess(p, df, k, to*float64(harmonics)+5, avoid)
	best := comb{}
	for f := from; f <= to; f += df / 20 {
		score, top, second := 0.0, 0.0, 0
		for h := 1; h <= harmonics; h++ {
			e := combAt(excess, f*float64(h)/df)
			score += e / (1 + 0.1*float64(h-1))
			if h <= 2 {
				top = math.Max(top, e)
			}
			if e > combTwo {
				second++
			}
		}
		if score > best.score {
			best = comb{hz: f, score: score, found: score > combEnough && (top > combOne || top > combTwo && second >= 2)}
		}
	}
	best.found = best.found && !combDense(excess, best.hz/df)
	return best
}

// combDense says that lines stand all about the first two of the comb, which is
// one of many then: keying and speech make lines a few hertz apart.
func combDense(excess []float64, at float64) bool {
	lines := 0
	for k := max(1, int(at/2)); k < int(2.5*at) && k+1 < len(excess); k++ {
		if math.Abs(float64(k)-at) < 4 || math.Abs(float64(k)-2*at) < 4 {
			continue
		}
		if e := excess[k]; e > combTwo && e >= excess[k-1] && e > excess[k+1] {
			lines++
		}
	}
	return lines > 5
}

// combAt reads the nearest bin, linear between two: the finest place of a peak
// is where both sides are even.
func combAt(e []float64, at float64) float64 {
	k := int(at)
	if k < 1 || k+1 >= len(e) {
		return 0
	}
	d := at - float64(k)
	return e[k]*(1-d) + e[k+1]*d
}

// combExcess is, for each bin, the log likelihood ratio that it rises above the
// noise about it: k(ρ − 1 − ln ρ) for a mean of k exponential variates over
// their expectation, 0 below it.
func combExcess(p []float64, df, k, upTo float64, avoid []float64) []float64 {
	n := min(len(p), int(upTo/df)+1)
	out := make([]float64, n)
	noise := combNoise(p[:n], df, k)
	for i := range out {
		if i == 0 || noise[i] <= 0 || near(float64(i)*df, avoid, 4*df) {
			continue
		}
		if r := p[i] / noise[i]; r > 1 {
			out[i] = math.Min(combMost, k*(r-1-math.Log(r)))
		}
	}
	return out
}

// combNoise is the noise about each bin: the median of the 48 nearest, which
// lines do not move, over what the median of a mean of k exponentials is.
func combNoise(p []float64, df, k float64) []float64 {
	out := make([]float64, len(p))
	ratio := 1 - 1/(3*k) + 8/(405*k*k) // Wilson and Hilferty's and its next term
	const half = 24
	window := slidingMedian{make([]float64, 0, 2*half+1)}
	for k := 1; k < min(len(p), half); k++ {
		window.put(p[k])
	}
	for i := range p {
		if in := i + half; in > 0 && in < len(p) {
			window.put(p[in])
		}
		if out := i - half - 1; out >= 1 {
			window.drop(p[out])
		}
		if len(window.sorted) > 0 {
			out[i] = window.middle() / ratio
		}
	}
	return out
}

func near(hz float64, list []float64, within float64) bool {
	for _, a := range list {
		if math.Abs(hz-a) < within {
			return true
		}
	}
	return false
}

// averagePower is the mean Hann periodogram of x in blocks of about seconds,
// and the number of independent averages that it counts for.
func averagePower(ctx context.Context, x []float64, rate, seconds float64) (p []float64, df, k float64) {
	n := lineSize(rate, seconds, int64(len(x)))
	if n < 16 || len(x) < n {
		return nil, 0, 0
	}
	s := newLineSpectrum(rate, n)
	p = make([]float64, n/2+1)
	blocks := 0
	for from := 0; from+n <= len(x) && ctx.Err() == nil; from += n / 2 {
		s.transform(x[from : from+n])
		for i := range p {
			p[i] += s.density(i)
		}
		blocks++
	}
	for i := range p {
		p[i] /= float64(max(1, blocks))
	}
	return p, s.df(), math.Max(1, 0.95*float64(blocks+1)/2)
}

// combRefine places the line frequency by the peaks of the lines that stand out,
// each by the ratio of the two bins about it, weighted as their frequencies tell
// (information grows as power times harmonic squared).
func combRefine(p []float64, df, k, hz float64, harmonics int, avoid []float64) float64 {
	noise := combNoise(p[:min(len(p), int(hz*float64(harmonics+1)/df)+1)], df, k)
	sum, weight := 0.0, 0.0
	for h := 1; h <= harmonics; h++ {
		f := hz * float64(h)
		b := int(math.Round(f / df))
		if b < 2 || b+2 >= len(noise) || near(f, avoid, 4*df) {
			continue
		}
		for _, m := range []int{b - 1, b + 1} {
			if p[m] > p[b] {
				b = m
			}
		}
		if b+1 >= len(p) || p[b] < 8*noise[b] {
			continue
		}
		w := (p[b]/noise[b] - 1) * float64(h*h)
		sum += w * (float64(b) + hannPeak(p[b-1], p[b], p[b+1])) * df / float64(h)
		weight += w
	}
	if weight == 0 {
		return hz
	}
	return sum / weight
}

// hannPeak is how far in bins from the middle of three powers under a raised
// cosine the line lies: the amplitude ratio of neighbour to peak is
// (1 + d)/(2 − d), so d = (2r − 1)/(1 + r) towards the greater neighbour.
func hannPeak(before, peak, after float64) float64 {
	side, sign := after, 1.0
	if before > after {
		side, sign = before, -1
	}
	if peak <= 0 {
		return 0
	}
	r := math.Sqrt(side / peak)
	return sign * math.Max(0, math.Min(0.5, (2*r-1)/(1+r)))
}
