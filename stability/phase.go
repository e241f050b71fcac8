package stability

import (
	"errors"
	"fmt"
	"math"
)

// ErrNoRecord is the cause of every refusal to make a [Phase]: the message
// around it says what was found and what was expected.
var ErrNoRecord = errors.New("no usable record")

// devLargest is the largest reading that is taken for one.
const devLargest = 1e100

// Phase is an evenly spaced record of time deviation x, in seconds, cut into
// the stretches between its gaps. Every estimator of this package that is a
// function of the averaging time wants one; [NewPhase], [FromFrequency] and
// [FromReadings] make it.
//
// A Phase never reaches across a gap: what happened to the phase while nobody
// looked is not known, so no difference that spans a gap is ever formed.
type Phase struct {
	tau0S    float64
	segments [][]float64
}

// NewPhase takes time deviations x in seconds, one every tau0S seconds. NaN
// marks a missing point. The slice is kept, not copied: do not change it while
// the Phase is in use.
//
// Refused are a spacing that is not between 1e-12 s and 1e12 s, a value beyond
// 1e100 (nothing measured is, and squares must not overflow), and a record in which no two neighbouring points are present.
func NewPhase(xS []float64, tau0S float64) (Phase, error) {
	if err := checkSpacing(tau0S); err != nil {
		return Phase{}, err
	}
	p := Phase{tau0S: tau0S}
	start := 0
	for i := 0; i <= len(xS); i++ {
		if i < len(xS) && !math.IsNaN(xS[i]) {
			if math.Abs(xS[i]) > devLargest {
				return Phase{}, fmt.Errorf("%w: point %d is %g; expected a time deviation in seconds, or NaN where it is missing", ErrNoRecord, i+1, xS[i])
			}
			continue
		}
		if i-start >= 2 {
			p.segments = append(p.segments, xS[start:i:i])
		}
		start = i + 1
	}
	return p, p.check(len(xS))
}

// FromFrequency takes readings y of fractional frequency (dimensionless), each
// the mean over one of the intervals of tau0S seconds that follow each other
// without dead time. NaN marks a missing reading. Readings in hertz may be
// given instead; every deviation is then in hertz.
//
// The phase is x(1) = 0, x(i+1) = x(i) + y(i) tau0 within each stretch. The
// mean of all readings is taken off first: no deviation depends on it, and the
// sums keep more digits without it.
func FromFrequency(y []float64, tau0S float64) (Phase, error) {
	if err := checkSpacing(tau0S); err != nil {
		return Phase{}, err
	}
	mean, present, runs, err := surveyReadings(y)
	if err != nil {
		return Phase{}, err
	}
	p := Phase{tau0S: tau0S}
	backing := make([]float64, 0, present+runs)
	for i := 0; i < len(y); {
		if math.IsNaN(y[i]) {
			i++
			continue
		}
		start, x := len(backing), 0.0
		backing = append(backing, x)
		for ; i < len(y) && !math.IsNaN(y[i]); i++ {
			x += (y[i] - mean) * tau0S
			backing = append(backing, x)
		}
		p.segments = append(p.segments, backing[start:len(backing):len(backing)])
	}
	return p, p.check(len(y))
}

// surveyReadings gives the mean of the readings present, their number, and the
// number of stretches they form. The mean is taken about the first reading:
// a counter's readings agree in most of their digits.
func surveyReadings(y []float64) (mean float64, present, runs int, err error) {
	first, sum, inRun := math.NaN(), 0.0, false
	for i, v := range y {
		switch {
		case math.IsNaN(v):
			inRun = false
			continue
		case math.Abs(v) > devLargest:
			return 0, 0, 0, fmt.Errorf("%w: reading %d is %g; expected a frequency, or NaN where it is missing", ErrNoRecord, i+1, v)
		case present == 0:
			first = v
		}
		if !inRun {
			runs++
		}
		inRun = true
		present++
		sum += v - first
	}
	return first + sum/float64(max(present, 1)), present, runs, nil
}

func checkSpacing(tau0S float64) error {
	if !(tau0S >= 1e-12 && tau0S <= 1e12) {
		return fmt.Errorf("%w: spacing of the readings is %v s; expected 1e-12 s to 1e12 s", ErrNoRecord, tau0S)
	}
	return nil
}

func (p Phase) check(given int) error {
	if len(p.segments) == 0 {
		return fmt.Errorf("%w: among %d points no two neighbours are present", ErrNoRecord, given)
	}
	return nil
}

// Tau0S is the spacing of the points in seconds.
func (p Phase) Tau0S() float64 { return p.tau0S }

// Points is the number of phase points present, over all stretches.
func (p Phase) Points() int {
	n := 0
	for _, x := range p.segments {
		n += len(x)
	}
	return n
}

// Gaps is the number of gaps between the stretches that can be used.
func (p Phase) Gaps() int { return max(0, len(p.segments)-1) }

// Longest is the number of phase points in the longest stretch without a gap.
func (p Phase) Longest() int {
	n := 0
	for _, x := range p.segments {
		n = max(n, len(x))
	}
	return n
}
