package signal

import (
	"math"
	"slices"
)

// humPatience is how many steps a tone other than hum is waited for: it may have
// begun on a multiple of the line frequency, and drift off it.
const humPatience = 4

// noteHum finds the line frequency and remembers what lies on its multiples as
// lines other than the tone.
func (t *toneTracker) noteHum(all []spectralLine) (hum []spectralLine) {
	best := mainsComb{}
	for _, mains := range usualMains {
		if c := t.combOf(all, mains); c.lines > best.lines || c.lines == best.lines && c.power > best.power {
			best = c
		}
	}
	if best.lines == 0 || best.lines == 1 && best.order > 2 {
		return nil
	}
	mains := best.strongest.hz
	if f, c := t.anew(mains); f != nil {
		mains = c.f0 + f.df
	}
	t.mains = mains / best.order
	for _, s := range all {
		if onMultiple(s.hz, t.mains, 0.15*t.rate/float64(t.scan.n)+0.1) {
			hum = append(hum, s)
			t.remember(s.hz, math.Sqrt(2*s.power), 0, true)
		}
	}
	return hum
}

// mainsComb is what lies on the multiples of a line frequency.
type mainsComb struct {
	lines     int
	power     float64
	strongest spectralLine
	order     float64 // of the strongest
}

func (t *toneTracker) combOf(all []spectralLine, mains float64) (c mainsComb) {
	for _, s := range all {
		if !onMultiple(s.hz, mains, 0.003*s.hz+0.3*t.rate/float64(t.scan.n)) {
			continue
		}
		c.lines++
		c.power += s.power
		if s.power > c.strongest.power {
			c.strongest, c.order = s, math.Round(s.hz/mains)
		}
	}
	return c
}

var usualMains = [2]float64{50, 60}

// onMultiple says whether a frequency is one of the first ten multiples of a
// line frequency within a tolerance.
func onMultiple(hz, mains, tolerance float64) bool {
	k := math.Round(hz / mains)
	return k >= 1 && k <= 10 && math.Abs(hz-k*mains) < tolerance
}

// humLast puts lines taken for hum behind the others that stand well out of the
// noise and are no more than 40 dB weaker than the strongest.
func humLast(all, hum []spectralLine) []spectralLine {
	var first, last []spectralLine
	for _, s := range all {
		if slices.Contains(hum, s) || s.power < 1e-4*all[0].power || s.over < 4*standsOut {
			last = append(last, s)
		} else {
			first = append(first, s)
		}
	}
	return append(first, last...)
}
