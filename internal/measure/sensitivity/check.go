package sensitivity

import (
	"math"
)

// check looks for what spoils a measurement of weak signals: a generator that
// leaks round its attenuator, and an AGC that was not off.
func (w *work) check() {
	if len(w.fits) == 0 {
		return
	}
	w.checkLeak()
	w.checkOff()
}

// checkLeak says where the curve stops falling with the input.
func (w *work) checkLeak() {
	best := w.fits[0]
	if !best.leak {
		return
	}
	w.warn("the curve flattens at low levels as if %s reached the set whatever the attenuator says: generator or leads leak; the figures are those without the leak, by the fitted law",
		told(best.params[best.atLeak], "dBm"))
}

// trend is a straight line through the outputs without signal against level.
type trend struct{ slope, u, span float64 }

// offTrend fits it; ok is false for too few levels.
func (w *work) offTrend() (t trend, ok bool) {
	var n, sx, sy, lo, hi float64
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range w.points {
		if !math.IsNaN(p.off) {
			n, sx, sy = n+1, sx+p.dBm, sy+p.off
			lo, hi = math.Min(lo, p.dBm), math.Max(hi, p.dBm)
		}
	}
	if n < 4 || hi-lo < 3 || w.sharedOff {
		return t, false
	}
	mx, my := sx/n, sy/n
	var sxx, sxy, rss float64
	for _, p := range w.points {
		if !math.IsNaN(p.off) {
			sxx, sxy = sxx+(p.dBm-mx)*(p.dBm-mx), sxy+(p.dBm-mx)*(p.off-my)
		}
	}
	t.slope, t.span = sxy/sxx, hi-lo
	for _, p := range w.points {
		if !math.IsNaN(p.off) {
			d := p.off - my - t.slope*(p.dBm-mx)
			rss += d * d
		}
	}
	// never taken for better than a needle is read
	t.u = math.Sqrt(math.Max(rss/(n-2), 0.1*0.1) / sxx)
	return t, true
}

// checkOff looks at the output without signal. In CW nothing should move it; in
// AM the carrier raises the noise of the detector by a few dB, but never lowers
// it.
func (w *work) checkOff() {
	t, ok := w.offTrend()
	if !ok {
		return
	}
	moved := t.slope * t.span
	sure := math.Abs(t.slope) > 4*t.u
	switch {
	case !sure || math.Abs(moved) < 1:
	case w.set.mode == modeCW && moved > 0:
		w.warn("the output without the signal rises by %s from the lowest level to the highest: the generator leaks when it is off, or was not off", told(moved, "dB"))
	case moved < 0:
		w.warn("the output without the signal falls by %s from the lowest level to the highest: the AGC was working, or a control was moved; (S+N)/N holds all the same, the noise bandwidth may not", told(-moved, "dB"))
	case moved > 6:
		w.warn("the output without modulation rises by %s with the carrier, more than a detector makes of noise: hum or noise on the generator's carrier, or a leak", told(moved, "dB"))
	}
}
