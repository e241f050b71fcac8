package sensitivity

import (
	"math"

	"setwright/noise"
)

// A law gives (S+N)/N, or SINAD, in dB for an input level in dBm. x is the ratio
// of the input power to that at which the large-signal law has S/N = 1; the
// parameters are, in this order where the law has them:
//
//	p0       level in dBm at which x = 1
//	n        exponent of a power law, S/N = xⁿ
//	ceiling  S/N in dB that no input exceeds: hum, residual noise of the
//	         generator, distortion; 1/(S/N) = 1/(law) + 1/ceiling
//	leak     level in dBm that reaches the set whatever the attenuator says
//
// The linear law S/N = x is that of a product detector, and of an envelope
// detector with a strong beat oscillator or a carrier well above the noise
// (noise.CWSensitivity, noise.AMSensitivity). Behind an envelope detector without
// beat oscillator the modulation of a weak carrier is suppressed: S/N =
// x·noise.Envelope(x/m²). The power law takes in what departs from both: a
// detector on the curved part of its characteristic has n up to 2.
type law struct {
	name                       string
	envelope                   bool
	power, ceiling, leak       bool
	depth                      float64
	atPower, atCeiling, atLeak int // places of the parameters, 0 for none
}

// newLaw lays out the parameters.
func newLaw(name string, depth float64, envelope, power, ceiling, leak bool) law {
	l := law{name: name, envelope: envelope, power: power, ceiling: ceiling, leak: leak, depth: depth}
	next := 1
	for _, p := range []struct {
		has bool
		at  *int
	}{{power, &l.atPower}, {ceiling, &l.atCeiling}, {leak, &l.atLeak}} {
		if p.has {
			*p.at = next
			next++
		}
	}
	return l
}

// size is the number of parameters.
func (l law) size() int {
	n := 1
	for _, has := range []bool{l.power, l.ceiling, l.leak} {
		if has {
			n++
		}
	}
	return n
}

// at is the ratio in dB at a level in dBm.
func (l law) at(dbm float64, p []float64) float64 {
	return noise.OverNoise(noise.DB(l.signalToNoise(dbm, p, true)))
}

// signalToNoise is the ratio of powers behind the detector, with the leak or
// without it.
func (l law) signalToNoise(dbm float64, p []float64, leaking bool) float64 {
	x := noise.Ratio(dbm - p[0])
	if l.leak && leaking {
		x += noise.Ratio(p[l.atLeak] - p[0])
	}
	s := x
	if l.power {
		s = math.Pow(x, p[l.atPower])
	}
	if l.envelope {
		s *= noise.Envelope(x / (l.depth * l.depth))
	}
	if l.ceiling {
		s /= 1 + s*noise.Ratio(-p[l.atCeiling])
	}
	return s
}

// solve is the level in dBm at which a ratio in dB is reached, of the set
// itself: without the leak. ok is false where the ceiling lies below it.
func (l law) solve(ratioDB float64, p []float64) (dbm float64, ok bool) {
	lo, hi := p[0]-60, p[0]+120
	want := noise.Ratio(noise.SignalToNoise(ratioDB))
	if l.signalToNoise(hi, p, false) < want {
		return math.NaN(), false
	}
	for range 80 {
		mid := (lo + hi) / 2
		if l.signalToNoise(mid, p, false) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, true
}

// words say the law for a reader.
func (l law) words() string {
	text := map[bool]string{true: "linear envelope detector, with its suppression of weak carriers", false: "signal-to-noise ratio in proportion to input power"}[l.envelope]
	if l.power {
		text = "signal-to-noise ratio as a power of input power"
	}
	if l.ceiling {
		text += ", up to a ceiling"
	}
	if l.leak {
		text += ", with a leak round the attenuator"
	}
	return text
}

// candidates are the laws that readings of a mode may follow, the usual one
// first.
func candidates(s setup) []law {
	var out []law
	bases := []struct {
		name            string
		envelope, power bool
	}{{"linear", false, false}, {"power", false, true}}
	if s.mode != modeCW {
		envelope := bases[0]
		envelope.name, envelope.envelope = "envelope", true
		bases = append(bases[:0:0], envelope, bases[0], bases[1])
	}
	for _, ceiling := range []bool{false, true} {
		for _, b := range bases {
			out = append(out, newLaw(b.name, s.depth, b.envelope, b.power, ceiling, false))
		}
	}
	first := bases[0]
	for _, ceiling := range []bool{false, true} {
		out = append(out, newLaw(first.name, s.depth, first.envelope, false, ceiling, true))
	}
	return out
}
