package bfo

import "math"

// slope is a drift with what it rests on.
type slope struct {
	hzPerS, u, dof float64
	spanS          float64
	readings       int
	movedHz        float64 // over the span
}

// least is what a drift needs: readings, and seconds between the first and the
// last.
const leastReadings, leastSpanS = 4, 120

// drift fits one slope to the readings of all settings, each with a level of its
// own. Errors of neighbouring readings that go together widen it: by the
// correlation of one residual with the next.
func (d *data) drift() (slope, bool) {
	var t, y []float64
	for _, p := range d.places {
		var mt, my, n float64
		for _, r := range p.readings {
			if !math.IsNaN(r.timeS) {
				mt, my, n = mt+r.timeS, my+r.hz, n+1
			}
		}
		if n < 2 {
			continue
		}
		for _, r := range p.readings {
			if !math.IsNaN(r.timeS) {
				t, y = append(t, r.timeS-mt/n), append(y, r.hz-my/n)
			}
		}
	}
	s := slope{readings: len(t)}
	if len(t) < leastReadings {
		return s, false
	}
	var stt, sty float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range t {
		stt += t[i] * t[i]
		sty += t[i] * y[i]
		lo, hi = math.Min(lo, t[i]), math.Max(hi, t[i])
	}
	s.spanS = hi - lo
	if s.spanS < leastSpanS {
		return s, false
	}
	s.hzPerS = sty / stt
	sd, correlated := residuals(t, y, s.hzPerS)
	s.dof = math.Max(float64(len(t)-len(d.places)-1)/correlated, 1)
	s.u = math.Max(sd, d.stepHz/math.Sqrt(12)) * math.Sqrt(correlated/stt)
	s.movedHz = s.hzPerS * s.spanS
	return s, true
}

// residuals returns the standard deviation of what a slope leaves and the
// factor by which variances of means grow through the correlation of neighbours,
// (1 + ρ)/(1 − ρ).
func residuals(t, y []float64, b float64) (sd, factor float64) {
	var s0, s1 float64
	last := 0.0
	for i := range t {
		e := y[i] - b*t[i]
		s0 += e * e
		if i > 0 {
			s1 += e * last
		}
		last = e
	}
	if s0 == 0 {
		return 0, 1
	}
	n := float64(len(t))
	rho := math.Max(0, math.Min(0.99, s1/s0+1/n)) // the estimate is low by about 1/n
	if n < 10 {
		rho = 0 // too few to tell
	}
	return math.Sqrt(s0 / math.Max(n-2, 1)), (1 + rho) / (1 - rho)
}
