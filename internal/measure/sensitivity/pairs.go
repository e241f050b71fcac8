package sensitivity

import (
	"math"

	"setwright/noise"
)

// sameLevel is how near two levels are one.
const sameLevel = 0.05

// pairUp makes points of recordings with the signal, each with those without it
// at the same level. In CW the noise does not depend on the level: recordings
// without a level written on them serve all.
func (w *work) pairUp(takes []take) []point {
	var out []point
	for _, on := range takes {
		if !withSignal(on.signal) {
			continue
		}
		rec := w.raw.Recordings[on.index]
		if math.IsNaN(on.dBm) {
			w.note("%s is left out: its input level is not written on it", rec.Name)
			continue
		}
		off, u, n, first := w.without(takes, on.dBm)
		if n == 0 {
			w.note("%s is left out: there is no recording without the signal at %s", rec.Name, told(on.dBm, "dBm"))
			continue
		}
		w.stretch(on.index, "with the signal at "+told(on.dBm, "dBm"))
		out = append(out, point{dBm: on.dBm, ratio: on.dB - off, u: math.Max(math.Hypot(on.u, u), 0.01), row: -1, on: on.dB, off: off, noise: -1 - first, commonU: u})
	}
	return out
}

// without is the mean output without the signal that goes with a level.
// first is the place of the first of those recordings.
func (w *work) without(takes []take, dbm float64) (dB, u float64, n, first int) {
	var power, u2 float64
	pick := func(fits func(take) bool) {
		for _, t := range takes {
			if withoutSignal(t.signal) && fits(t) {
				if n == 0 {
					first = t.index
				}
				power, u2, n = power+noise.Ratio(t.dB), u2+t.u*t.u, n+1
			}
		}
	}
	pick(func(t take) bool { return math.Abs(t.dBm-dbm) < sameLevel })
	if n == 0 && w.set.mode == modeCW {
		pick(func(t take) bool { return true })
		w.sharedOff = n > 0
	}
	return noise.DB(power / float64(n)), math.Sqrt(u2) / float64(max(n, 1)), n, first
}

// antennaPairs pairs recordings of the noise on antenna and dummy in their
// order.
func antennaPairs(takes []take) []pair {
	var on, off []take
	for _, t := range takes {
		switch t.signal {
		case "antenna":
			on = append(on, t)
		case "dummy":
			off = append(off, t)
		}
	}
	var out []pair
	for i := range min(len(on), len(off)) {
		out = append(out, pair{rise: on[i].dB - off[i].dB, u: math.Hypot(on[i].u, off[i].u)})
	}
	return out
}
